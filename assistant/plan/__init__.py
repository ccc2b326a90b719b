"""Before anything breaks: reviews of a plan, readings to expect on paper, and descriptions by interview."""

from assistant.plan.finding import Figure, Finding, Review, Severity
from assistant.plan.packing import with_pack
from assistant.plan.review import RULES, review

__all__ = ["RULES", "Figure", "Finding", "Review", "Severity", "review", "with_pack"]
