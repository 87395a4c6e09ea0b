"""HTTP in, HTTP out: the pocket's shell and worker, the sync, and the desk."""
