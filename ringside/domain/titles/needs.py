"""Other titles and tests."""

from __future__ import annotations

import ringside.domain.titles.words as words
from ringside.domain.titles.case import Case
from ringside.domain.titles.weighed import Lack, Weighed


def weigh_needs(case: Case, result: Weighed) -> None:
    """See whether what must come first is held, and what must be passed."""
    for need in case.route.needs:
        if need.title in case.held:
            result.met.append((need, case.held[need.title]))
        else:
            says = words.first_title(case.title.names[need.title])
            result.lacks.insert(0, Lack(need, says, unknown=True))
    test = case.route.test
    if test:
        held = case.tests.get(test.test)
        if test.test in case.tests and (held is None or held <= case.today):
            result.met.append((test, held))
        else:
            result.lacks.append(Lack(test, test.says, first=case.today))
