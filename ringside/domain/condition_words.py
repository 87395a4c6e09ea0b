"""What is said of a dog's weight and score, by name (says.py): none of it a diagnosis or a diet."""

from __future__ import annotations

from collections.abc import Mapping

CONDITION: Mapping[str, str] = {
    # why there is no forecast
    "no-weight": "Weigh the dog four times within six weeks to see what it will weigh on the day.",
    "too-few-by-one": "Weigh once more: a forecast needs four weighings within six weeks.",
    "too-few": "Weigh {more} more times: a forecast needs four weighings within six weeks.",
    "too-short": "These weighings span {days} days. A forecast needs three weeks.",
    "jump": (
        "The weight jumped by {percent} % on {day}. Weigh again on the same scale. If it is so, "
        "ask the vet."
    ),
    "no-show": "Enter the dog in a show to see what it will weigh on the day.",
    "show-over": "The show was before the last weighing.",
    "too-far": (
        "The show is {days} days after the last weighing, and a forecast reaches {most} days. "
        "Weigh again nearer to it."
    ),
    "too-far-for-span": (
        "The show is {days} days after the last weighing, and {span} days of weighings reach half "
        "as far. Weigh again nearer to it."
    ),
    "too-wide": (
        "The weighings lie too far apart to say. Weigh on the same scale, at the same hour, "
        "before food."
    ),
    "under-a-year": "Under a year a dog is growing, and its weight cannot be forecast like this.",
    "growing": "A growing dog's weight cannot be forecast like this.",
    "in-whelp": "The weight of a bitch in whelp cannot be forecast like this. Ask the vet.",
    "nursing": "The weight of a nursing bitch cannot be forecast like this. Ask the vet.",
    "ill": "While a dog is ill its weight cannot be forecast. Ask the vet before you show it.",
    "operated": (
        "After an operation a dog's weight cannot be forecast. Ask the vet when it may be shown."
    ),
    # the forecast
    "will-weigh": "{low} to {high} {unit}",
    "will-weigh-about": "About {kg} {unit}",
    "how-sure": (
        "Four times in five, in our simulations. Where a dog that was losing begins to gain, or "
        "the other way round, this held only about half the time: weigh again in the last week."
    ),
    "within": "Within {of}'s limits on the day",
    "over": "Too heavy for {of} on the day",
    "under": "Too light for {of} on the day",
    "open": "May be beyond {of}'s limits on the day",
    # what is told
    "gains": "The dog gains {percent} % of its weight a week. Tell the vet.",
    "loses": "The dog loses {percent} % of its weight a week. Tell the vet.",
    "gains-fast": "The dog gains {percent} % of its weight a week, which is fast. See the vet.",
    "loses-fast": (
        "The dog loses {percent} % of its weight a week; 2 % or more is warned against. See the "
        "vet."
    ),
    "score-thin": (
        "Score {score} is below the ideal 4 to 5. Ask the vet before you change its food."
    ),
    "score-heavy": (
        "Score {score} is above the ideal 4 to 5. Ask the vet before you change its food."
    ),
    # the limit as a target
    "target": (
        "To be within the limit by then it must change by {percent} % of its weight a week. Ask "
        "the vet first."
    ),
    "target-too-fast": (
        "To be within the limit by then it would have to change by more than 2 % of its weight a "
        "week. No target is drawn: leave it out of this show and ask the vet."
    ),
    "target-not-for-score": (
        "By its score the dog should not be brought to this limit. No target is drawn: ask the vet."
    ),
    "target-score-first": "Score the dog: without a score no target is drawn.",
}
