"""The kennel's record: models, the change log and its merge, and the sync of one request."""
