"""What the trade knows: TOML files, their schema, and the loader that refuses the unsourced."""

from ringside.knowledge.loader import Knowledge, KnowledgeError, load

__all__ = ["Knowledge", "KnowledgeError", "load"]
