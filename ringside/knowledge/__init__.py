"""What the trade knows: TOML files, their schema, and the loader that refuses the unsourced.
No dog of anybody's, no database, no web, and no fact without its source may enter here.
"""

from ringside.knowledge.loader import Knowledge, load, load_whole
from ringside.knowledge.reading import KnowledgeError

__all__ = ["Knowledge", "KnowledgeError", "load", "load_whole"]
