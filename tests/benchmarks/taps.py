"""How long the taps of a day take on a phone, from the finger until the screen has changed."""

from __future__ import annotations

from collections import defaultdict
from datetime import date

from tests.benchmarks.history import MOMENT
from tests.browser.phone import Phone

SLOWER = 4
ROUNDS = 20
APART = 250  # ms between two taps, so that what one writes is not the next one's wait
# Taps `selector`, and waits until what `look` gives differs; painting is the same for all (ms).
TAP = """async ([selector, look]) => {
    const told = () => document.querySelector(look)?.textContent;
    const button = document.querySelector(selector);
    const before = told();
    const began = realNow();
    button.click();
    while (told() === before)
        await new Promise((done) => {
            const watch = new MutationObserver(() => {
                watch.disconnect();
                done();
            });
            const how = { childList: true, subtree: true, characterData: true, attributes: true };
            watch.observe(document.body, how);
            setTimeout(done, 1000);
        });
    return realNow() - began;
}"""
HEAD = "#main h1"


class Day:
    """A phone on the day of a show: a dog that is entered today, its walk, and what is tapped."""

    def __init__(self, phone: Phone) -> None:
        """Enter the first dog of `phone`, whose clock can be passed on (Phone.FIRST)."""
        self.phone = phone
        self.times: dict[str, list[float]] = defaultdict(list)
        self.dog = min(row["id"] for row in phone.store("all('dog')"))
        show = {"name": "Spring", "body": "FCI", "day": date.today().isoformat()}
        at = phone.store("write('show', null, it)", show)
        self.entry = phone.store("write('entry', null, it)", {"dog": self.dog, "show": at})
        walk = {"dog": self.dog, "mode": "ring", "stations": [], "place": "approach"}
        self.walk = phone.store("write('walk', null, it)", {**walk, "began": MOMENT})
        self.cdp = phone.page.context.new_cdp_session(phone.page)

    def tap(self, what: str, selector: str, look: str = HEAD) -> None:
        """Tap, and note how long it took until what `look` finds has changed."""
        self.phone.page.wait_for_timeout(APART)
        self.phone.wait_out_guard()
        self.times[what].append(self.phone.page.evaluate(TAP, [selector, look]))

    def once(self) -> None:
        """Every daily tap, once or more."""
        dog = f"#/dog/{self.dog}"
        self.phone.show("")
        self.tap("home to the dog's page", f'#main .dog-row[href="{dog}"]')
        self.tap("dog's page to the card", f'#main a[href="{dog}/card"]')
        self.tap("card to a station", f'#main a[href="{dog}/station/bite"]')
        self.tap("station to the card", '#main [data-part="back"]')
        self.tap("card to the dog's page", '#main [data-part="back"]')
        self.tap("back to the home screen", '#main [data-part="back"]')
        self.tap("home to the gate", f'#main a[href="#/gate/{self.entry}"]')
        self.tap("gate, a tick", "#main .gate-row .gate-tick", "#main .gate-count")
        self.tap("gate, undo", '#main [data-part="undo"]', "#main .gate-count")
        self.phone.show(f"ring/{self.walk}")
        self.tap("Ring, Done", "#main .ring-done", "#main .ring-station")
        self.tap("Ring, Undo", '#main [data-part="undo"]', "#main .ring-station")

    def measured(self, rounds: int = ROUNDS) -> dict[str, list[float]]:
        """{tap: ms of each}, with the processor at a quarter of its pace."""
        self.once()
        self.times.clear()
        self.cdp.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
        for _ in range(rounds):
            self.once()
        self.cdp.send("Emulation.setCPUThrottlingRate", {"rate": 1})
        return self.times
