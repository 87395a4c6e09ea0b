"""Looking the knowledge over: does it contradict itself, what was read, how old is it."""

from ringside.knowledge.review.overview import Review, review

__all__ = ["Review", "review"]
