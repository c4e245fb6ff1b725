"""A review: everything that is computed of a recording and its site, in one object."""

from desktop.review.reviewing import Review, review

__all__ = ["Review", "review"]
