"""The main job, as a person does it: everything written where there is no signal is kept, comes
to the book exactly once, and from there to the other phones."""

from __future__ import annotations

import itertools
import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Response, expect

from ringside.book.kinds import KINDS
from tests.browser.phone import (
    CLOCK_OFF,
    OUT_OF_REACH,
    POCKET,
    Phone,
    asked,
    assert_level,
    body_of,
    kill_browser,
)
from tests.browser.proxy import Proxy
from tests.support import Server


@pytest.fixture
def proxy(server: Server) -> Iterator[Proxy]:
    proxy = Proxy(server)
    yield proxy
    proxy.close()


@pytest.fixture
def phone(
    context: Callable[..., BrowserContext], server: Server, allowed_errors: list[str]
) -> Callable[..., Phone]:
    """A factory of phones that have been taken along to the server once."""
    allowed_errors.append(OUT_OF_REACH)

    def take(url: str = server.url, before: str = "", **options: Any) -> Phone:
        opened = context(**POCKET, **options)
        if before:
            opened.add_init_script(before)
        return Phone(opened.new_page(), url)

    return take


# --- the job


@pytest.mark.plain_too
def test_the_app_can_be_installed(
    server: Server, persistent_context: Callable[..., BrowserContext], tmp_path: Path
) -> None:
    context = persistent_context(tmp_path / "profile", **POCKET)
    phone = Phone(context.pages[0], server.url).open().ready_offline()
    cdp = context.new_cdp_session(phone.page)
    manifest = cdp.send("Page.getAppManifest")
    assert manifest["errors"] == []
    assert json.loads(manifest["data"])["id"] == "/"
    assert cdp.send("Page.getInstallabilityErrors")["installabilityErrors"] == []


def test_a_day_without_a_signal(
    server: Server,
    persistent_context: Callable[..., BrowserContext],
    phone: Callable[..., Phone],
    tmp_path: Path,
) -> None:
    profile = tmp_path / "profile"
    context = persistent_context(profile, **POCKET)
    Phone(context.pages[0], server.url).open().ready_offline()
    context.close()
    server.kill()

    context = persistent_context(profile, **POCKET)
    mine = Phone(context.pages[0], server.url).open()
    mine.go_in("Bramble")
    mine.walk_to_the_end()
    (row,) = mine.until(lambda: _ended(mine, "Bramble"), "the walk's end was kept")
    assert mine.tick_states(row["id"]) == dict.fromkeys(row["values"]["stations"], "done")

    walk, graded = _rehearse(mine, "Drift")
    marks = [row["values"] for row in mine.records("practice", walk=walk)]
    assert {mark["station"]: mark["grade"] for mark in marks} == graded

    mine.add_dog("Juniper", "Beagle")
    mine.station("Juniper", "Bite")
    mine.write_note("Lets me lift the lip on the left first.")
    mine.add_own("Own cue, up to five words", "Thumb under, not over")
    mine.add_own("Your own ask for this breed at this station", "Scissor bite, ours is tight")
    mine.add_dog("Bilberry", "Marrowby Barn Hound", sex="Dog")
    expect(mine.page.get_by_text("We do not know this breed")).to_be_visible()
    mine.station("Bilberry", "Topline")
    mine.write_note("Roaches when he is cold.")
    mine.dog("Bilberry")
    _add_order(mine, "Starts at the bite", "Bite", up=3)

    mine.page.reload()
    mine.go()
    expect(
        mine.page.get_by_role("link", name=re.compile("changes to send; saved on this phone"))
    ).to_be_visible()
    written = {row["id"] for row in mine.changes("unsent")}
    context.close()

    server.start()
    context = persistent_context(profile, **POCKET)
    mine = Phone(context.pages[0], server.url).open().sync(server.data)
    assert {row["id"] for row in mine.changes("sent")} == written
    assert_level(mine, server.data)

    other = phone().open().sync(server.data)
    for kind in KINDS:
        values = {row["id"]: row["values"] for row in mine.records(kind)}
        assert {row["id"]: row["values"] for row in other.records(kind)} == values
    other.station("Juniper", "Bite")
    expect(other.page.get_by_text("Scissor bite, ours is tight")).to_have_count(2)
    expect(other.page.locator(".lead")).to_have_text("Thumb under, not over")
    other.page.get_by_role("button", name="Show note").click()
    expect(other.page.get_by_text("Lets me lift the lip on the left first.")).to_be_visible()
    other.dog("Bilberry")
    other.page.get_by_role("link", name="Starts at the bite").click()
    expect(other.page.locator(".order-name").first).to_have_text("Bite")
    # By now the book has computed the new dog's own card.
    mine.until(lambda: any(row["id"] in written_dogs(mine) for row in mine.rows("packs")), "pack")
    mine.dog("Juniper")
    expect(mine.page.get_by_text("The general card")).to_have_count(0)


def written_dogs(phone: Phone) -> set[str]:
    return {row["id"] for row in phone.records("dog", name="Juniper")}


def _ended(phone: Phone, dog: str) -> list[dict[str, Any]]:
    walks = phone.records("walk", mode="ring", dog=phone.dogs[dog])
    return walks if all(row["values"].get("ended") for row in walks) else []


def _rehearse(phone: Phone, dog: str) -> tuple[str, dict[str, str]]:
    """Rehearse a whole card, leaving out every fourth station; gives the walk and the marks."""
    page = phone.page
    phone.dog(dog)
    page.get_by_role("link", name="Rehearse", exact=True).click()
    page.get_by_role("button", name="Begin").click()
    place = page.locator(".rehearse h1")
    done = page.get_by_role("heading", name="Rehearsal done")
    graded = {}
    expect(place).to_be_visible()
    walk = page.evaluate("location.hash").split("/")[2]
    for grade in itertools.cycle(("easy", "needs work", "not yet", None)):
        expect(place.or_(done)).to_be_visible()
        if done.is_visible():
            break
        words = place.inner_text()
        here = next(row["values"]["place"] for row in phone.records("walk") if row["id"] == walk)
        if grade:
            page.locator(f"[data-grade='{grade}']").click()
            graded[here] = grade
        else:
            page.get_by_role("button", name="Skip").click()
        expect(place.filter(has_text=words)).to_have_count(0)
    page.get_by_role("link", name="Finish").click()
    expect(page.get_by_role("heading", level=1, name=dog)).to_be_visible()
    return walk, graded


def _add_order(phone: Phone, label: str, station: str, up: int) -> None:
    page = phone.page
    page.get_by_role("link", name="Add an order").click()
    page.get_by_label("Name of this order").fill(label)
    for _ in range(up):
        page.get_by_role("button", name=f"{station} earlier").click()
    expect(page.locator(".order-name").first).to_have_text(station)
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("link", name=label)).to_be_visible()


def test_killed_in_the_middle_of_a_card(
    server: Server,
    persistent_context: Callable[..., BrowserContext],
    tmp_path: Path,
    allowed_errors: list[str],
) -> None:
    allowed_errors.append(OUT_OF_REACH)
    profile = tmp_path / "profile"
    context = persistent_context(profile, **POCKET)
    Phone(context.pages[0], server.url).open().ready_offline()
    context.close()
    server.kill()

    context = persistent_context(profile, **POCKET)
    mine = Phone(context.pages[0], server.url).open()
    walk = mine.go_in("Teasel")
    for _ in range(6):
        mine.tap_done()
    teasels = {"mode": "ring", "dog": mine.dogs["Teasel"]}
    stations = mine.records("walk", **teasels)[0]["values"]["stations"]

    def kept() -> bool:
        (row,) = mine.records("walk", **teasels)
        return bool(row["values"]["place"] == stations[5])

    mine.until(kept, "the last tap was kept")
    ticks, shown = mine.tick_states(walk), mine.in_ring()
    kill_browser(context, profile)

    context = persistent_context(profile, **POCKET)
    mine = Phone(context.pages[0], server.url).open()
    assert mine.tick_states(walk) == ticks == dict.fromkeys(stations[:5], "done")
    mine.dog("Teasel")
    mine.page.get_by_role("link", name="Ring: go on").click()
    mine.until(lambda: mine.in_ring() == shown, "the same station")
    # And at the very moment of a tap: with it or without it, but never half.
    mine.tap_done()
    kill_browser(context, profile)

    context = persistent_context(profile, **POCKET)
    mine = Phone(context.pages[0], server.url).open()
    (row,) = mine.records("walk", **teasels)
    ticked = stations.index(row["values"]["place"])
    assert ticked in (5, 6)
    assert mine.tick_states(walk) == dict.fromkeys(stations[:ticked], "done")

    server.start()
    mine.sync(server.data)
    assert_level(mine, server.data)


FAULTS = ("lost", "unsent", "cut", "twice", "straggler", "lost", "cut", "straggler")


def test_answers_lost_on_the_way(proxy: Proxy, phone: Callable[..., Phone]) -> None:
    data = proxy.server.data
    other = phone().open().ready_offline()
    mine = phone(proxy.url).open().ready_offline()
    gustav = mine.dog("Gustav")
    mine.station("Gustav", "Bite")
    for number, fault in enumerate(FAULTS):
        proxy.faults.append(fault)
        mine.write_note(f"Note {number}, {fault}")
        mine.nudge()
        mine.until(lambda: not proxy.faults, "the fault happened")
        if number == 3:
            other.add_dog("Campion", "Pug")
            other.sync(data)
    mine.sync(data)
    proxy.let_stragglers_go()
    mine.sync(data)
    assert_level(mine, data)
    assert len(mine.records("note", dog=gustav, station="bite")) == len(FAULTS)
    assert len(mine.records("dog", name="Campion")) == 1
    other.sync(data)
    assert_level(other, data)


def test_a_slow_answer_is_awaited_and_a_stalled_one_is_not(
    proxy: Proxy, phone: Callable[..., Phone]
) -> None:
    mine = phone(proxy.url).open().ready_offline()
    own = mine.meta("device")  # or the fault befalls a request of the app's own
    proxy.befalls = lambda asked: asked["device"] != own
    ask = """async (limit) => {
        const main = document.querySelector("script[type=module]").src;
        const { post } = await import(new URL("../js/api.js", main));
        const begun = performance.now();
        const sent = { protocol: 1, device: "00000000-0000-7000-8000-000000000001", changes: [] };
        const said = await post("/api/sync", sent, limit).catch((error) => error.cause?.name);
        return [said.ok ?? said, performance.now() - begun];
    }"""
    proxy.faults.append("slow")
    said, took = mine.page.evaluate(ask, 2_000)
    assert said is True
    assert took > 2_500
    proxy.open.clear()
    assert mine.page.evaluate(ask, 300)[0] == "AbortError"
    proxy.open.set()


@pytest.mark.parametrize(("hours", "words"), [(24, "24 hours fast"), (-24, "24 hours slow")])
def test_a_phone_whose_clock_is_a_day_off(
    server: Server, phone: Callable[..., Phone], hours: int, words: str
) -> None:
    right = phone().open().ready_offline()
    wrong = phone(before=CLOCK_OFF.replace("OFF", str(hours * 3_600_000)))
    wrong.page.route("**/api/**", lambda route: route.abort())
    wrong.open()
    # Before it has ever met the book it cannot know that its clock is off.
    wrong.add_dog("Yarrow", "Whippet")
    wrong.station("Yarrow", "Topline")
    wrong.write_note("First thought.")
    wrong.change_note("Second thought.")
    wrong.page.unroute("**/api/**")
    wrong.sync(server.data)
    assert_level(wrong, server.data)
    wrong.go()
    expect(wrong.page.get_by_text(f"This phone's clock is {words}")).to_be_visible()
    wrong.go("sync")
    expect(wrong.page.get_by_text(f"This phone's clock is {words}")).to_be_visible()

    # Whoever writes last is believed, whatever their clock says.
    for number, (one, then) in enumerate(((wrong, right), (right, wrong))):
        one.sync(server.data)
        one.rename("Yarrow", f"Yarrow {number}")
        one.sync(server.data)
        then.sync(server.data)
        then.rename(f"Yarrow {number}", "Yarrow")
        then.sync(server.data)
        one.sync(server.data)
        for each in (one, then):
            assert len(each.records("dog", name="Yarrow")) == 1
            assert_level(each, server.data)


def test_the_clock_is_told_though_nothing_else_is_new(
    server: Server, phone: Callable[..., Phone]
) -> None:
    mine = phone().open().ready_offline()
    mine.page.add_init_script(CLOCK_OFF.replace("OFF", "-10_800_000"))
    mine.page.reload()
    expect(mine.page.get_by_text("This phone's clock is 3 hours slow")).to_be_visible()
    # That the clock is still off is no news: it must not make the phone sync on and on.
    sent: list[str] = []
    mine.page.on("request", lambda request: sent.append(request.url))
    mine.page.wait_for_timeout(3_000)
    assert sum(url.endswith("/api/sync") for url in sent) <= 1


def test_notes_written_apart(server: Server, phone: Callable[..., Phone]) -> None:
    one, other = phone().open().ready_offline(), phone().open().ready_offline()
    texts = {one: "Show the right side first.", other: "She is fine on the left now."}
    server.stop()
    for each, text in texts.items():
        each.station("Bramble", "Bite")
        each.change_note(text)
    server.start()
    for each in (one, other, one):
        each.sync(server.data)
    for each in (one, other):
        each.go()
        expect(each.page.get_by_text("1 text was changed on two phones")).to_be_visible()
        each.go("sync")
        expect(each.page.get_by_text("Private note, Bramble, Bite: show both")).to_be_visible()
        each.show_both(*texts.values())
    one.settle(texts[other])
    for each in (one, other):
        each.sync(server.data)
        each.station("Bramble", "Bite")
        each.assert_note(texts[other])
        assert_level(each, server.data)


def test_a_change_that_the_book_refuses(server: Server, phone: Callable[..., Phone]) -> None:
    mine = phone().open().ready_offline()
    dog = mine.add_dog("Tansy", "Papillon")
    # Past the form, which would say so at once: as an app older than the book's rules does.
    write = """async ([dog, values]) => {
        const main = document.querySelector("script[type=module]").src;
        const { write } = await import(new URL("../js/store.js", main));
        const { kinds } = await import(new URL("../js/shipped.js", main));
        const { fields } = (await kinds()).dog;
        for (const name of Object.keys(values)) fields[name].most = 1000;
        await write("dog", dog, values);
    }"""
    wrong = {"name": "Tansy " * 20, "pedigree": "Marrowby " * 20}
    mine.page.evaluate(write, [dog, wrong])
    mine.sync(server.data)
    assert {row["field"] for row in mine.changes("refused")} == {"name", "pedigree"}
    mine.go()
    expect(mine.page.get_by_text("The book refused 2 changes.")).to_be_visible()
    mine.page.reload()
    mine.go("sync")
    rows = mine.page.locator(".refused-row")
    name = rows.filter(has_text="The name of this dog has 120 characters; shorten it to 40.")
    pedigree = rows.filter(has_text="shorten it to 120.")
    expect(name).to_be_visible()
    pedigree.get_by_role("button", name="Keep here only").click()
    expect(rows).to_have_count(1)
    name.get_by_role("link", name="Open").click()
    mine.page.get_by_label("Call name").fill("Tansy")
    mine.page.get_by_label("Registered name").fill("")
    mine.page.get_by_role("button", name="Save").click()
    expect(mine.page.get_by_role("heading", level=1, name="Tansy", exact=True)).to_be_visible()
    mine.sync(server.data)
    mine.go("sync")
    expect(mine.page.locator(".refused-row")).to_have_count(0)
    assert_level(mine, server.data)


def test_another_book_at_the_same_address(
    start_server: Callable[..., Server],
    server: Server,
    phone: Callable[..., Phone],
    tmp_path: Path,
    allowed_errors: list[str],
) -> None:
    allowed_errors += ["409", "401", "400"]  # another book, its door, and its key for requests
    mine = phone().open().ready_offline()
    server.stop()
    mine.add_dog("Clover", "Samoyed")
    stranger = start_server("serve", port=server.port)
    way_in = re.search(r"#/(pair/\S+)", stranger.output)
    assert way_in
    mine.go(way_in[1])
    mine.page.get_by_role("button", name="Pair").click()
    expect(mine.page.get_by_text("Paired. This device sees the whole book.")).to_be_visible()
    sent: list[dict[str, Any]] = []

    def heard(answer: Response) -> None:
        if answer.url.endswith("/api/sync"):
            sent.append(body_of(answer.request))

    mine.page.on("response", heard)
    mine.go("sync")
    mine.nudge()
    expect(mine.page.get_by_text("The server at this address has a different book")).to_be_visible()
    first = len(sent)
    mine.nudge()
    mine.until(lambda: len(sent) > first, "it was asked again")
    assert sent[-1]["changes"] == []
    # Meeting a stranger is no news the second time: it must not make the phone ask on and on.
    settled = len(sent)
    mine.page.wait_for_timeout(2_000)
    assert len(sent) <= settled + 1
    assert asked(stranger.data, "SELECT COUNT(*) FROM change") == [(0,)]
    mine.page.get_by_role("button", name="Join this book").click()
    mine.sync(stranger.data)
    assert len(asked(stranger.data, "SELECT 1 FROM change WHERE value = ?", '"Clover"')) == 1
    expect(mine.page.get_by_text("has a different book")).to_have_count(0)
