"""Looking the knowledge over: does it contradict itself, what was read, how old is it.
Nothing that a server needs may enter here: it is for writers and for `ringside check`.
"""

from ringside.knowledge.review.overview import Review, review

__all__ = ["Review", "review"]
