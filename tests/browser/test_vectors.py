"""The shared vectors in the browser: the phone's functions give what Python's do."""

from __future__ import annotations

import functools
import itertools
import json
import random
import threading
import tomllib
from collections.abc import Callable, Iterator
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any, get_args

import pytest
from playwright.sync_api import Page

from ringside.book.packs import as_dog
from ringside.domain.breed_index import breed_index, breed_names
from ringside.domain.countdown import countdown_book, tasks_for
from ringside.domain.eligibility import pack_rules, pack_windows
from ringside.domain.pack import rules_book
from ringside.knowledge import load
from ringside.knowledge.regulation_schema import Regulation
from ringside.knowledge.schema import Body, Coat
from tests.measure_vectors import atlas, marking_by, readings_of
from tests.support import ROOT

VECTORS = ROOT / "tests" / "vectors"
SPELLINGS = "breed_spellings.toml"
NAMES = sorted(
    path.relative_to(VECTORS).with_suffix("").as_posix() for path in VECTORS.rglob("*.json")
)

MEASURE = """
    const measure = await import("/js/core/measure.js");
    const same = (a, b) => typeof b === "number"
        ? Math.abs(a - b) <= 1e-9 * Math.max(1, Math.abs(b))
        : b && typeof b === "object"
            ? Object.keys({ ...a, ...b }).every((key) => same(a?.[key] ?? null, b[key] ?? null))
            : a === b;
    const read = ({ photo, marks, height, tem }) =>
        measure.readings(given, photo, marks, { heightCm: height, tem });
    for (const c of data.markings ?? []) check(c, same(read(c), c.is), true);
    for (const c of data.series ?? []) {
        const found = measure.combined(c.taken.map(read));
        const words = found.map((one, at) => measure.verdict(one, c.asks[at], c.months));
        const stand = measure.stance(given, read(c.taken[0]));
        check(c, same([found, words, stand], [c.is, c.words, c.stand]), true);
    }
    for (const c of data.faces ?? []) {
        const aside = measure.withheld(given, c.readings);
        check(c, [aside, measure.isPuppy(c.months)], [c.withheld, c.puppy]);
        const words = c.readings.map((one, at) =>
            measure.verdict(one, c.asks[at], c.months, aside));
        check(c, same(words, c.words), true);
    }
    for (const c of data.twice ?? []) {
        const tem = measure.technicalError(c.pairs);
        check(c, same([tem, measure.leastChange(tem)], [c.tem, c.least]), true);
        check(c, same(measure.ownFinding(given, c.rounds), c.finding), true);
    }
"""

# Each returns the reasons ("why") of the cases that came out differently, with what came out.
PROGRAMS = {
    "clock": """
        const { tick, later, ms, node, nodeOf, STAMP } = await import("/js/core/clock.js");
        for (const c of data.tick) check(c, tick(c.last, c.now, c.by), c.is);
        for (const c of data.later) check(c, later(c.one, c.other), c.is);
        for (const c of data.parts) check(c, [ms(c.stamp), node(c.stamp)], [c.ms, c.node]);
        for (const c of data.nodes) check(c, nodeOf(c.device), c.node);
        for (const c of data.order) check(c, [...c.stamps].reverse().sort(), c.stamps);
        for (const c of data.form) check(c, STAMP.test(c.stamp), c.fits);
    """,
    "merge": """
        const merge = await import("/js/core/merge.js");
        const { fold, join, value, apart, winner, base, restamp } = merge;
        const folded = (changes, text) => changes.reduce(
            (cell, { stamp, base, value }) => fold(cell, stamp, base, value, text), undefined);
        for (const c of data.folds) {
            const cell = folded(c.changes, c.text);
            check(c, [value(cell), apart(cell), winner(cell), base(cell)],
                [c.shown, c.apart, c.winner, c.base]);
            if (c.any_order === false) continue;
            check(c, folded([...c.changes].reverse(), c.text), cell);
            check(c, folded([...c.changes, ...c.changes], c.text), cell);
        }
        for (const c of data.joins) {
            check(c, join(c.one, c.other), c.is);
            check(c, join(c.other, c.one), c.is);
        }
        for (const c of data.cells) check(c, folded(c.changes, c.text), c.cell);
        for (const c of data.restamps) check(c, restamp(c.cell, c.raw, c.stamp), c.is);
        for (const c of data.none) check(c, [apart(undefined), base(undefined)], [c.apart, c.base]);
    """,
    "check": """
        const { problem } = await import("/js/core/check.js");
        const spelt = (value) => {
            if (Array.isArray(value)) return value.map(spelt);
            if (Array.isArray(value?.repeat)) return value.repeat[0].repeat(value.repeat[1]);
            return value?.list ? Array(value.list[1]).fill(value.list[0]) : value;
        };
        for (const c of data.cases) check(c, problem(c.declared, spelt(c.value)), c.problem);
    """,
    "rows": """
        const rows = await import("/js/core/rows.js");
        const { blank, foldInto, knows, madeFrom, packsOf, place } = rows;
        for (const c of data.knows) check(c, knows(data.declared, c.change), c.is);
        const standing = (c, changes) => {
            const known = changes.filter((change) => knows(data.declared, change));
            if (!known.length) return null;
            const row = blank(c.kind, c.id);
            for (const change of known) foldInto(data.declared[c.kind], row, change);
            return seen(row);
        };
        const seen = ({ values, places = [], removed, apart }) =>
            ({ values, places, removed: Boolean(removed), apart: Boolean(apart) });
        for (const c of data.rows) {
            const { changes } = c;
            for (const order of [changes, [...changes].reverse(), [...changes, ...changes]]) {
                check(c, standing(c, order), c.is);
            }
        }
        for (const c of data.packs) {
            const { kind, id, values } = c;
            check(c, packsOf(data.declared[kind], { kind, id, values }), c.is);
        }
        for (const c of data.made) {
            const kind = data.declared[c.kind];
            const [one, other] = [c.one, c.other].map((values) => madeFrom(kind, { values }));
            check(c, one === other, c.is);
        }
        for (const c of data.left) {
            const row = { ...blank(c.kind, c.id), cells: c.cells };
            place(data.declared[c.kind], row);
            check(c, seen(row), c.is);
            check(c, Object.keys(row.cells), Object.keys(c.cells));
        }
    """,
    "own_order": """
        const { personalise } = await import("/js/core/walk.js");
        for (const c of data.cases) {
            const { phases } = personalise(data.card, c.own);
            check(c, phases.map((phase) => phase.stations.map((one) => one.id)), c.stations);
            const all = phases.flatMap((phase) => phase.stations);
            for (const part of ["cues", "asks"]) {
                for (const [id, lines] of Object.entries(c[part] ?? {})) {
                    check(c, all.find((station) => station.id === id)[part], lines);
                }
            }
        }
    """,
    "fsrs": """
        const { answered, interval } = await import("/js/core/fsrs.js");
        const near = (got, wanted) => Math.abs(got - wanted) <= 1e-6 * wanted;
        for (const c of data.cases) {
            const { stability, difficulty } = c.grades.reduce(
                (was, grade, at) => answered(was, grade, c.days[at]), null);
            check(c, near(stability, c.is.stability), true);
            check(c, near(difficulty, c.is.difficulty), true);
            check(c, interval(stability), c.is.interval);
        }
    """,
    "condition": """
        const { at, fit, halfWidth, tOf } = await import("/js/core/condition.js");
        const near = (got, wanted) => Math.abs(got - wanted) <= 1e-6 * Math.abs(wanted) + 1e-12;
        for (const c of data.cases) {
            const line = fit(c.points);
            check(c, near(line.slope, c.is.slope), true);
            check(c, near(at(line, c.day), c.is.at), true);
            check(c, near(halfWidth(line, c.day, c.share), c.is.half), true);
        }
        for (const c of data.quantiles) check(c, near(tOf(c.share, c.freedom), c.t), true);
    """,
    "outlook": """
        const { outlook } = await import("/js/core/condition.js");
        const rounded = (told) => JSON.parse(JSON.stringify(told, (_, value) =>
            typeof value === "number" ? Number(value.toPrecision(7)) : value));
        for (const c of data.cases) {
            check(c, rounded(outlook(c.weighings, c)), rounded(c.is));
        }
    """,
    "puppies": """
        const { due, felt } = await import("/js/core/puppies.js");
        for (const c of data.due) check(c, due(data.checks, data.looks, c), c.is);
        for (const c of data.felt) check(c, felt(c.dog, c.last), c.is);
    """,
    "pairs": """
        const { pairsRight } = await import("/js/core/drill.js");
        for (const c of data.cases) {
            const given = [...c.given];
            const { right, of } = pairsRight(given, [...given].sort());
            check(c, Math.abs((2 * right) / of - 1 - c.tau) <= 1e-6, true);
        }
    """,
    "learn": """
        const { findTerms, finderOf, piecesOf } = await import("/js/core/terms.js");
        const { answerOf, learned, roundOf, standing } = await import("/js/core/drill.js");
        const today = "2026-05-05";
        for (const c of data.pieces) {
            const found = piecesOf(c.words, finderOf(data.terms, c.asks));
            check(c, found.map(({ words, term }) => [words, term?.id ?? null]), c.is);
        }
        for (const c of data.find) {
            check(c, findTerms(data.terms, c.typed).map(({ id }) => id), c.is);
        }
        for (const c of data.standing) check(c, standing(c.state, today), c.is);
        for (const c of data.rounds) {
            const items = [..."abcdefghijkl"].map((key) => ({ key }));
            const found = roundOf(items, new Map(Object.entries(c.states)), today);
            check(c, found.map(({ key }) => key), c.is);
        }
        for (const c of data.answers) check(c, answerOf(c, c), c.is);
        for (const c of data.learned) check(c, learned(c.state, c.answer, c).due, c.due);
    """,
    "practice": """
        const practice = await import("/js/core/practice.js");
        const { addMark, betaQuantile, betaShare, nextSession, NOTHING, readiness } = practice;
        const near = (got, wanted) => Math.abs(got - wanted) <= 1e-6;
        const DAY = 86_400_000;
        const at = (day) => new Date(Math.round(day * DAY)).toISOString();
        const sums = (marks) => marks.reduce((all, [day, grade, hands]) =>
            addMark(all, { at: at(day), grade, hands: hands ?? undefined }), NOTHING);
        for (const c of data.shares) {
            check(c, near(betaShare(c.x, c.a, c.b), c.share), true);
            check(c, near(betaQuantile(0.05, c.a, c.b), c.low), true);
            check(c, near(betaQuantile(0.95, c.a, c.b), c.high), true);
        }
        for (const c of data.marks) {
            for (const [wanted, stranger] of [[c.is, false], [c.stranger, true]]) {
                const found = readiness(sums(c.marks), c.now * DAY, stranger);
                const parts = Object.keys(wanted).map((part) => near(found[part], wanted[part]));
                check(c, [parts.length, parts.every(Boolean)], [5, true]);
            }
            const found = readiness(sums(c.marks), c.now * DAY);
            check(c, [practice.stateOf(found), practice.readyWords(found)], [c.state, c.words]);
        }
        for (const c of data.edges) {
            const found = [practice.stateOf(c.found), practice.readyWords(c.found)];
            check(c, found, [c.state, c.words]);
        }
        for (const c of data.counted) {
            check(c, practice.isMark({ grade: c.grade, at: at(c.at) }, c.now * DAY), c.is);
        }
        for (const c of data.sessions) {
            const places = c.places.map((one) => ({ ...one, sums: sums(one.marks) }));
            const { minutes, ...chosen } = nextSession(places, 0);
            check(c, chosen, { work: c.work, end: c.end, hands: c.hands });
        }
    """,
    "ringclock": """
        const clock = await import("/js/core/ringclock.js");
        const near = (got, wanted) => Math.abs(got - wanted) <= 1e-6;
        for (const c of data.quantiles) {
            check(c, Math.abs(clock.fQuantile(c.p, c.k, c.a) / c.is - 1) < 0.01, true);
        }
        for (const c of data.turns) {
            const seen = clock.replay(c.taps, clock.endsOf(c.stand), c.now, c.lunch);
            const found = clock.turn(c.stand, seen, c.pace, c.now, c.begins);
            const [low, middle, high] = [clock.LOW, clock.MIDDLE, clock.HIGH].map((share) =>
                clock.quantileAt(found, share));
            const all = { ...found.pace, low, middle, high, ...found };
            const parts = Object.entries(c.is).map(([part, wanted]) => near(all[part], wanted));
            check(c, [parts.length, parts.every(Boolean)], [9, true]);
        }
        for (const c of data.collisions) {
            const [one, other] = [c.one, c.other].map(({ at, ...work }) =>
                ({ starts: [{ at, work }], rests: null }));
            check(c, Math.abs(clock.collide(one, other, c.in_ring, c.way) - c.is) <= 0.005, true);
        }
        for (const c of data.follows) {
            const seen = clock.replay(c.taps, clock.endsOf(c.second), c.now, null);
            const found = clock.follow(c.stand, c.second, seen, c.pace, c.in_ring, c.way);
            check(c, near(found, c.is), true);
        }
    """,
    "measure": MEASURE,
    "ringday": """
        const day = await import("/js/core/ringday.js");
        const on = "2026-06-06";
        for (const c of data.ahead) {
            const entry = { ...c.entry, ahead: day.wordsOf(c.typed) };
            const stand = day.standOf(entry, on, c.printed);
            const floors = stand.floors.map(([place, time]) => [place, day.clockOf(time)]);
            check(c, { ...stand, floors }, c.is);
            check(c, Boolean(day.aheadProblem(c.typed)), Boolean(c.odd));
        }
        for (const c of data.placed) check(c, day.isPlaced(c.entry), c.is);
        for (const c of data.spans) check(c, day.spanWords(c.minutes), c.is);
        for (const c of data.ranges) check(c, day.rangeWords(c, 0), c.is);
        for (const c of data.steps) {
            const found = day.stepsAt(data.known, c.minutes);
            check(c, [found.now.name, found.next?.name ?? null], c.is);
        }
        for (const c of data.taps) check(c, day.tapsOf(c.rows).map(({ what }) => what), c.is);
        const book = { pace: [{ body: "KC", minutes: 2.2 }], habit: [] };
        const stands = (c, { ring, ...entry }) => ({
            ring: { id: ring },
            klass: entry.klass,
            ...day.standingAt({ entry, ring: { day: on, values: c.rings[ring], taps: [] },
                body: "KC" }, book, day.momentOf(on, "8:00")),
        });
        for (const c of data.meetings) {
            const found = day.meetings(c.entries.map((entry) => stands(c, entry)), 0);
            check(c, found.map(({ chance, isOneClass }) => [chance > 0.3, isOneClass]), c.is);
        }
    """,
    "results": """
        const { judgeKey, lessonId, resultId } = await import("/js/core/results.js");
        const { firstLate, namedLately } = await import("/js/core/practice.js");
        for (const c of data.judges) check(c, judgeKey(c.name), c.key);
        for (const c of data.ids) check(c, [resultId(c.entry), lessonId(...c.lesson)], c.is);
        for (const c of data.late) {
            const lessons = c.lessons.map(([station, says, day]) => ({ station, says, day }));
            check(c, [...namedLately(lessons, c.today)].sort(), c.is);
            const first = firstLate(c.today);
            const read = lessons.filter(({ day }) => day >= first);
            check(c, [...namedLately(read, c.today)].sort(), c.is);
        }
    """,
    "rules/chip": """
        const { checkChip } = await import("/js/core/chip.js");
        for (const c of data.cases) {
            check(c, checkChip(c.number, given.chips), { fine: c.fine, message: c.message });
        }
    """,
    "rules/says": """
        const { sayDay } = await import("/js/core/days.js");
        const { sentence } = await import("/js/core/says.js");
        for (const c of data.sentences) check(c, sentence(data.table, c.saying), c.is);
        for (const c of data.faults) check(c, fails(() => sentence(data.table, c.saying)), true);
        for (const c of data.days) check(c, sayDay(c.day), c.is);
    """,
    "rules/days": """
        const { dayOf, isOn, lastDay, nextEntry } = await import("/js/core/days.js");
        const rows = ({ id, entry, show }) =>
            ({ entry: { id, values: entry }, show: { values: show } });
        for (const c of data.lasts) check(c, lastDay(c.show), c.is);
        for (const c of data.on) check(c, isOn(c.show, c.day), c.is);
        for (const c of data.days) check(c, dayOf(c.entry, c.show, c.today), c.is);
        for (const c of data.next) {
            const found = nextEntry(c.entered.map(rows), c.today);
            check(c, found && [found.day, found.entry.id], c.is);
        }
    """,
    "rules/asks": """
        const { asksFor, limitsFor, puppyUntil } = await import("/js/core/asks.js");
        for (const c of data.asks) {
            check(c, asksFor(data.lines, c, data.choices).map(({ says }) => says), c.is);
        }
        for (const c of data.limits) check(c, limitsFor(c.limits, c, data.choices), c.is);
        for (const c of data.puppies) check(c, puppyUntil(c.born), c.is);
    """,
    "rules/cues": """
        const { suits, traitsOf } = await import("/js/core/asks.js");
        for (const c of data.suits) {
            const traits = traitsOf(c.known ? data.row : null, c.variety);
            check(c, suits(c.for ? { for: c.for } : {}, traits), c.is);
        }
    """,
    "rules/limits": """
        const limits = await import("/js/core/limits.js");
        for (const c of data.units) {
            const found = limits.inUnit(c.value, c.given, c.wanted);
            check(c, Math.abs(found - c.is) <= 1e-12 * c.is, true);
        }
        for (const c of data.beyond) check(c, limits.beyond(c.limit, c.value), c.is);
        for (const c of data.newest) check(c, limits.newest(c.measures, c.what), c.is);
        for (const c of data.states) check(c, limits.limitState(c.limit, c.measures), c.is);
        for (const c of data.sources) check(c, limits.limitSource(c.limit), c.is);
        for (const c of data.tidy) check(c, limits.tidy(c.number), c.is);
    """,
    "rules/gate": """
        const gate = await import("/js/core/gate.js");
        for (const c of data.class) {
            const about = { body: c.body, klass: c.klass, isDated: c.dated, isStale: c.stale };
            check(c, gate.classFinding(c.standing, about), c.is);
        }
        for (const c of data.limits) {
            check(c, gate.limitFindings(c.limits, c.measures, c.body), c.is);
        }
        for (const c of data.testes) check(c, gate.testesFinding(c.dog, c.bars), c.is);
        for (const c of data.chip) check(c, gate.chipFinding(c.number, given.chips), c.is);
        for (const c of data.whole) {
            const more = { isDated: c.dated, isStale: false, chips: given.chips };
            const found = gate.findings({ ...c, ...more });
            check(c, found.map(({ words }) => words.says), c.is);
        }
        for (const c of data.items) {
            check(c, gate.itemsOf(data.listed, c.entry, c.kit, c.bars), c.is);
        }
        for (const c of data.ticks) {
            const newest = [...gate.newestTicks(c.ticks)].map(([item, { id }]) => [item, id]);
            check(c, Object.fromEntries(newest), c.is);
        }
        for (const c of data.sorted) {
            const states = new Map(Object.entries(c.states));
            check(c, gate.sortOut(c.findings, c.items, states), c.is);
        }
    """,
    "rules/heat": """
        const { risksOf } = await import("/js/core/heat.js");
        for (const c of data.cases) {
            const about = { isShort: c.short, born: c.born, kg: c.kg, today: c.today };
            check(c, risksOf(data.risks, about).map(({ id }) => id), c.is);
        }
    """,
    "rules/samedog": """
        const { sameBy } = await import("/js/core/samedog.js");
        for (const c of data.cases) {
            check(c, [sameBy(c.one, c.other), sameBy(c.other, c.one)], [c.is, c.is]);
        }
    """,
    "rules/bounds": """
        const bounds = await import("/js/core/bounds.js");
        const { today, born } = data;
        for (const c of data.countries) check(c, bounds.countryProblem(given.bounds, c.code), c.is);
        for (const c of data.measures) {
            check(c, bounds.measureProblems(given.bounds, c.measure, { born, today }), c.is);
        }
        for (const c of data.days) {
            check(c, bounds.dayProblem(given.bounds, c.day, { born: c.born, today }), c.is);
        }
        for (const c of data.shown) check(c, bounds.shownProblem(c.day, c.show), c.is);
        for (const c of data.shows) check(c, bounds.showProblems(given.bounds, c, today), c.is);
        for (const c of data.times) check(c, bounds.timeProblem(c.time), c.is);
        for (const c of data.awards) {
            const about = { born, today, others: c.others };
            check(c, bounds.awardProblems(given.bounds, c.award, about), c.is);
        }
        for (const c of data.cues) check(c, bounds.cueProblem(given.bounds, c.line), c.is);
    """,
    "rules/shows": """
        const { rulingAt } = await import("/js/core/rules.js");
        const { sentence } = await import("/js/core/says.js");
        const { rules, enters } = given;
        for (const c of data.cases) {
            const found = rulingAt(enters[c.born], rules, "fci", c.class, c);
            const { why, readings, count, ...plain } = c.is;
            for (const [part, wanted] of Object.entries(plain)) check(c, found[part], wanted);
            if (why) check(c, found.why, `${sentence(rules.s, why)}.`);
            if (readings ?? count) check(c, found.readings.length, count ?? readings.length);
            (readings ?? []).forEach((saying, place) => {
                const opening = sentence(rules.s, { ...saying, why: "" });
                check(c, found.readings[place]?.slice(0, opening.length), opening);
            });
        }
    """,
    "countdown": """
        const { laidOut, ownStep, tasksFor } = await import("/js/core/countdown.js");
        for (const c of data.cases) {
            const steps = [...c.steps, ownStep("own", c.own, c.show)];
            const due = laidOut(steps, new Map(Object.entries(c.touched)), c.show);
            check(c, due.map((one) => [one.key, one.step, one.day, one.last, one.state]), c.due);
        }
        for (const c of given.dogs) check(c, tasksFor(given.book, c).map(({ id }) => id), c.ids);
    """,
    "breeds": """
        const breeds = await import("/js/core/breeds.js");
        const rows = breeds.withNames(breeds.breedsOf(data.told), data.named_too);
        for (const [place, { keys, all, ...row }] of rows.entries())
            check({ why: row.id }, row, data.rows[place]);
        check({ why: "as many" }, rows.length, data.rows.length);
        for (const c of data.plain) check(c, breeds.plain(c.words), c.is);
        for (const c of data.find) {
            const found = breeds.findBreeds(rows, c.typed);
            check(c, found.map(({ breed }) => breed.id), c.ids);
            check(c, found.some(({ near }) => near), c.near ?? false);
            if (c.by != null) check(c, found[0].by, c.by);
        }
        for (const c of data.named) check(c, breeds.breedNamed(rows, c.typed)?.id ?? null, c.id);
    """,
}


def given(name: str) -> Any:
    """What a program needs besides its cases: what the book works out, as the phone gets it."""
    if name == "rules/shows":
        data = json.loads((VECTORS / f"{name}.json").read_text(encoding="utf-8"))
        rules = {"fci": Regulation.model_validate(data["regulation"])}
        enters = {
            born: pack_windows(rules, as_dog({"born": born, "sex": "dog"}, []))
            for born in {case["born"] for case in data["cases"]}
        }
        return {"rules": pack_rules(rules), "enters": enters}
    if name == "countdown":
        return countdowns()
    if name == "measure":
        return atlas()
    if not name.startswith("rules/"):
        return None
    book = rules_book(load())
    return {part: book[part] for part in ("chips", "bounds")}


def countdowns() -> Any:
    """The tasks of each kind of dog there is, as Python has them."""
    known = load()
    breeds = {"", *(breed for task in known.countdown.task for breed in task.breeds)}
    breeds |= {one.id for one in known.countdown.uncut}
    dogs = itertools.product(sorted(breeds), (None, *get_args(Coat)), (None, *get_args(Body)))
    return {
        "book": countdown_book(known),
        "dogs": [
            {
                **{"why": f"{breed} {coat} {body}", "breed": breed, "coat": coat, "body": body},
                "ids": [task.id for task in tasks_for(known, coat, breed, body)],
            }
            for breed, coat, body in dogs
        ],
    }


AROUND = """
async ([text, given]) => {
    const data = JSON.parse(text);
    const failed = [];
    let checked = 0;
    const plain = (value) => JSON.stringify(value, (key, held) =>
        held && typeof held === "object" && !Array.isArray(held)
            ? Object.fromEntries(Object.entries(held).sort(([a], [b]) => (a < b ? -1 : 1)))
            : held);
    const check = (c, got, wanted) => {
        checked += 1;
        if (plain(got) !== plain(wanted)) failed.push(`${c.why}: ${plain(got)}`);
    };
    const fails = (act) => {
        try {
            act();
            return false;
        } catch {
            return true;
        }
    };
    %s
    return { failed, checked };
}
"""


class Files(SimpleHTTPRequestHandler):
    """Serves static/ without a word; JavaScript under its own type on every system."""

    extensions_map = {**SimpleHTTPRequestHandler.extensions_map, ".js": "text/javascript"}  # noqa: RUF012

    def do_GET(self) -> None:
        if self.path in ("/", "/favicon.ico"):
            self.send_response(200)
            self.send_header("Content-Type", "text/html")
            self.end_headers()
        else:
            super().do_GET()

    def log_message(self, *_: Any) -> None:
        pass


@pytest.fixture(scope="module")
def files() -> Iterator[str]:
    handler = functools.partial(Files, directory=str(ROOT / "static"))
    with ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        thread = threading.Thread(target=server.serve_forever)
        thread.start()
        yield f"http://127.0.0.1:{server.server_port}/"
        server.shutdown()
        thread.join()


@pytest.mark.parametrize("name", NAMES)
def test_the_phone_agrees(name: str, files: str, page: Callable[..., Page]) -> None:
    path: Path = VECTORS / f"{name}.json"
    opened = page()
    opened.goto(files)
    text = path.read_text(encoding="utf-8")
    result = opened.evaluate(AROUND % PROGRAMS[name], [text, given(name)])
    assert result["failed"] == []
    sections = [part for part in json.loads(text).values() if isinstance(part, list)]
    assert result["checked"] >= sum("why" in case for part in sections for case in part)


def test_a_thousand_markings_by_chance_come_out_as_in_python(
    files: str, page: Callable[..., Page]
) -> None:
    chance = random.Random(1_000)
    made = [marking_by(chance) for _ in range(1_000)]
    cases = [{"why": str(at), **case, "is": readings_of(case)} for at, case in enumerate(made)]
    assert sum(one["value"] is not None for case in cases for one in case["is"]) > 8_000
    opened = page()
    opened.goto(files)
    result = opened.evaluate(AROUND % MEASURE, [json.dumps({"markings": cases}), atlas()])
    assert result == {"failed": [], "checked": len(cases)}


FOUND = """
async ([told, names, list]) => {
    const { breedsOf, withNames, findBreeds } = await import("/js/core/breeds.js");
    const rows = withNames(breedsOf(told), names);
    const first = (typed) => findBreeds(rows, typed).slice(0, 3).map(({ breed }) => breed.id);
    return Object.fromEntries(list.map((typed) => [typed, first(typed)]));
}
"""


def test_breeds_are_found_by_what_people_type(files: str, page: Callable[..., Page]) -> None:
    wanted = tomllib.loads((ROOT / "tests" / "published" / SPELLINGS).read_text(encoding="utf-8"))
    assert sum(map(len, wanted.values())) >= 150
    opened, known = page(), load()
    opened.goto(files)
    told = json.loads(json.dumps([breed_index(known), breed_names(known)]))
    found = opened.evaluate(FOUND, [*told, [typed for part in wanted.values() for typed in part]])
    first = {typed: ids[0] if ids else "" for typed, ids in found.items()}
    assert {typed: first[typed] for typed in wanted["first"]} == wanted["first"]
    lacking = {typed: set(ids) - set(found[typed]) for typed, ids in wanted["among"].items()}
    assert not any(lacking.values()), lacking
