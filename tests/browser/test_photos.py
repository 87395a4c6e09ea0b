"""Photos in the hand: what the camera tells is gone before one is kept, nothing is lost behind the
camera, and nothing leaves the phone that nobody ticked."""

from __future__ import annotations

import base64
import io
import random
import re
import struct
from collections.abc import Callable, Iterator
from datetime import date
from typing import Any

import pytest
from PIL import ExifTags, Image, ImageDraw, ImageFilter
from PIL.TiffImagePlugin import IFDRational
from playwright.sync_api import Browser, BrowserContext, Page, Request, expect

from ringside.book import jpeg as strict
from tests import pictures
from tests.browser.phone import OUT_OF_REACH, Phone
from tests.browser.test_vectors import files as files
from tests.support import Server

POCKET = {"viewport": {"width": 360, "height": 800}}
MOST_BYTES = 1_500_000

# The bytes of all photos that the phone holds, by SHA-256.
KEPT = """async () => {
  const opened = indexedDB.open("ringside-photos");
  const db = await new Promise((resolve) => (opened.onsuccess = () => resolve(opened.result)));
  const store = db.transaction("pixels").objectStore("pixels");
  const [keys, all] = await Promise.all([store.getAllKeys(), store.getAll()].map((request) =>
    new Promise((resolve) => (request.onsuccess = () => resolve(request.result)))));
  db.close();
  const text = (bytes) =>
    btoa(Array.from(new Uint8Array(bytes), (byte) => String.fromCharCode(byte)).join(""));
  return Object.fromEntries(keys.map((key, place) => [key, text(all[place])]));
}"""
# As the system does when the phone is full.
EVICT = """async () => {
  const opened = indexedDB.open("ringside-photos");
  const db = await new Promise((resolve) => (opened.onsuccess = () => resolve(opened.result)));
  const tx = db.transaction(["pixels", "told"], "readwrite");
  for (const name of ["pixels", "told"]) tx.objectStore(name).clear();
  await new Promise((resolve) => (tx.oncomplete = resolve));
  db.close();
}"""
FULL = """() => {
  const put = IDBObjectStore.prototype.put;
  IDBObjectStore.prototype.put = function (...given) {
    if (this.name !== "pixels") return put.apply(this, given);
    throw new DOMException("Quota exceeded", "QuotaExceededError");
  };
}"""
# What a module of ours makes of each of these files.
READ = """async ([name, call, files]) => {
  const module = await import(`/js/${name}.js`);
  const bytesOf = (text) => Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
  const textOf = (bytes) => btoa(Array.from(bytes, (b) => String.fromCharCode(b)).join(""));
  const made = [];
  for (const file of files) {
    const given = bytesOf(file);
    const is = await module[call](call === "photoOf" ? new Blob([given]) : given);
    if (is?.bytes) is.bytes = textOf(new Uint8Array(is.bytes));
    made.push(is instanceof Uint8Array ? textOf(is) : is);
  }
  return made;
}"""


def text(data: bytes) -> str:
    return base64.b64encode(data).decode()


@pytest.fixture(scope="module")
def bench(browser: Browser, files: str) -> Iterator[Page]:
    """A page in which modules are tried by themselves."""
    page = browser.new_page()
    page.goto(files)
    yield page
    page.close()


def read(page: Page, module: str, call: str, files: list[bytes]) -> list[Any]:
    found: list[Any] = page.evaluate(READ, [module, call, [text(data) for data in files]])
    return found


# --- What a camera writes ------------------------------------------------------------------------


def camera(image: Image.Image, orientation: int = 1, **how: Any) -> bytes:
    """A JPEG as a phone's camera writes it: position, moment, lens, and a small picture in it."""
    noted = Image.Exif()
    noted[ExifTags.Base.Make] = pictures.CAMERA
    noted[ExifTags.Base.Orientation] = orientation
    lens = noted.get_ifd(ExifTags.IFD.Exif)
    lens[ExifTags.Base.DateTimeOriginal] = "2025:11:02 09:30:00"
    lens[ExifTags.Base.FocalLengthIn35mmFilm] = 52
    lens[ExifTags.Base.DigitalZoomRatio] = IFDRational(5, 2)
    position = noted.get_ifd(ExifTags.IFD.GPSInfo)
    position[ExifTags.GPS.GPSLatitudeRef] = "N"
    position[ExifTags.GPS.GPSLatitude] = (52.0, 26.0, 31.0)
    kept = io.BytesIO()
    image.save(kept, "JPEG", exif=noted.tobytes(), comment=pictures.PLACE.encode(), **how)
    return kept.getvalue()


def scene(width: int, height: int, blurred: float = 0) -> Image.Image:
    """A brown dog on grass under the sky, with a red corner at its upper left."""
    made = Image.effect_noise((width, height), 60).convert("RGB")
    made = Image.blend(made, Image.new("RGB", made.size, (110, 150, 90)), 0.6)
    pen = ImageDraw.Draw(made)
    pen.rectangle((0, 0, width, height * 0.45), fill=(180, 200, 215))
    pen.ellipse((width * 0.25, height * 0.35, width * 0.72, height * 0.62), fill=(120, 80, 40))
    for left in (0.3, 0.37, 0.6, 0.66):
        pen.rectangle(
            (width * left, height * 0.5, width * (left + 0.03), height * 0.85), fill=(100, 64, 30)
        )
    made = made.filter(ImageFilter.GaussianBlur(blurred)) if blurred else made
    ImageDraw.Draw(made).rectangle((0, 0, width / 8, height / 8), fill=(255, 0, 0))
    return made


TURNED = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_90,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_270,
}


def turned(image: Image.Image, orientation: int) -> Image.Image:
    """The picture as it is stored by a camera that was held so."""
    return image.transpose(TURNED[orientation]) if orientation > 1 else image


def test_a_picture_of_each_way_up_is_kept_upright_and_tells_only_its_lens(bench: Page) -> None:
    upright = scene(480, 320)
    files = [camera(turned(upright, way), way) for way in range(1, 9)]
    facts = read(bench, "core/jpeg", "told", files)
    assert [fact["orientation"] for fact in facts] == list(range(1, 9))
    assert [fact["width"] for fact in facts] == [480] * 4 + [320] * 4
    lens = {"focal35": 52, "zoom": 2.5, "day": "2025-11-02"}
    for made in read(bench, "parts/photofile", "photoOf", files):
        assert lens.items() <= made.items()
        kept = told_nothing(base64.b64decode(made["bytes"]))
        assert kept.size == (480, 320) == (made["width"], made["height"])
        red, green, blue = kept.convert("RGB").getpixel((12, 12))  # type: ignore[misc]
        assert red > 200 > 60 > max(green, blue)


def told_nothing(data: bytes) -> Image.Image:
    """The picture, which holds nothing that it need not, by Pillow and by the book's own reader."""
    image = Image.open(io.BytesIO(data))
    image.load()
    assert not image.getexif()
    assert not {"exif", "comment", "mp", "photoshop", "adobe"} & set(image.info)
    for word in (pictures.CAMERA, pictures.PLACE, "Exif", "2025:11:02"):
        assert word.encode() not in data
    assert strict.size(data) == image.size
    assert len(data) <= MOST_BYTES
    return image


def test_whatever_the_file_it_ends_and_nothing_passes(bench: Page) -> None:
    """Of cut, broken and hostile files either nothing is left, or a picture that the book takes."""
    whole = camera(scene(64, 48))
    chance = random.Random(14)
    files = [
        b"",
        b"\xff\xd8",
        b"GIF89a" + bytes(64),
        b"\xff" * 100_000,
        b"\xff\xd8" + b"\xff\xe1\x00\x02" * 20_000,
        b"\xff\xd8\xff\xda\x00\x02" + b"\xff\x00" * 100_000,
        *(whole[:end] for end in range(0, len(whole), 37)),
        *(hostile(whole, tag, kind, count, at) for tag, kind, count, at in HOSTILE),
    ]
    for _ in range(300):
        broken = bytearray(whole)
        for _ in range(chance.randint(1, 6)):
            broken[chance.randrange(2, 400)] = chance.randrange(256)
        files.append(bytes(broken))
    files = [data for data in files if data != whole]
    for fact in read(bench, "core/jpeg", "told", files):
        assert fact["orientation"] in {None, *range(1, 9)}
        for number, most in (("focal35", 2_000), ("zoom", 200)):
            assert fact[number] is None or 1 <= fact[number] <= most
        assert fact["day"] is None or re.fullmatch(r"\d{4}-\d\d-\d\d", fact["day"])
    hidden = [
        pictures.with_segment(whole, marker, body)
        for marker, body in (
            (0xE2, b"MPF\0" + bytes(40)),
            (0xED, b"Photoshop 3.0\0"),
            (0xEB, b"JP\0\0"),
            (0xE0, b"JFXX\0\x10" + bytes(90)),
            (0xFE, b"Grafton"),
        )
    ]
    hidden.append(whole + whole)  # what a phone writes behind the end: a second picture, a film
    hidden.append(camera(scene(64, 48), icc_profile=pictures.colour_profile(), progressive=True))
    for left in read(bench, "core/jpeg", "stripped", hidden):
        told_nothing(base64.b64decode(left))
    for left in read(bench, "core/jpeg", "stripped", files):
        if left is not None:
            assert why_refused(base64.b64decode(left)) != strict.TELLS_MORE


def why_refused(data: bytes) -> str:
    try:
        strict.size(data)
    except strict.BadPicture as bad:
        return bad.code
    return ""


# Fields of EXIF that point where there is nothing, at themselves, or at more than there is.
HOSTILE = [
    (0x8769, 4, 1, 8),
    (0x8769, 4, 1, 0xFFFFFFFF),
    (0x8769, 4, 0xFFFFFFFF, 8),
    (0x0112, 3, 0, 0),
    (0x0112, 9, 1, 77),
    (0x0112, 5, 1, 0xFFFFFFF0),
    (0x9003, 2, 0x7FFFFFFF, 8),
]


def hostile(whole: bytes, tag: int, kind: int, count: int, at: int) -> bytes:
    """The picture with EXIF of our own before its own: one field, and as many as there can be."""
    fields = struct.pack("<HHII", tag, kind, count, at)
    block = b"II*\0" + struct.pack("<IH", 8, 0xFFFF) + fields * 200
    return pictures.with_segment(whole, 0xE1, b"Exif\0\0" + block)


def test_a_blurred_picture_is_told_from_a_sharp_one(bench: Page) -> None:
    """Of 12 MP, of a high one, of one before a plain wall: advice, by a convention of ours."""
    sharp = [scene(2000, 1500), scene(900, 1600)]
    blurred = [scene(2000, 1500, 6), scene(900, 1600, 6)]
    files = [camera(image, quality=90) for image in (*sharp, *blurred)]
    made = read(bench, "parts/photofile", "photoOf", files)
    assert [one["isBlurred"] for one in made] == [False, False, True, True]


# --- In the hand ---------------------------------------------------------------------------------


def put(page: Page, data: bytes) -> None:
    """Come back from the camera with this picture."""
    given = {"name": "IMG_0001.jpg", "mimeType": "image/jpeg", "buffer": data}
    page.locator("[data-part=camera]").set_input_files(given)  # type: ignore[arg-type]


def answer(page: Page, question: str, words: str) -> None:
    field = page.locator("fieldset", has_text=question)
    field.locator("label", has_text=re.compile(f"^{words}$")).click()


def kept(page: Page) -> dict[str, bytes]:
    found: dict[str, str] = page.evaluate(KEPT)
    return {sha256: base64.b64decode(data) for sha256, data in found.items()}


def test_a_photo_from_the_camera_to_the_book(
    server: Server, context: Callable[..., BrowserContext], allowed_errors: list[str]
) -> None:
    allowed_errors += [OUT_OF_REACH, "status of 404"]
    whole = context(**POCKET)
    sent: list[str] = []
    whole.on("request", lambda asked: note(sent, asked))
    phone = Phone(whole.new_page(), server.url).open().ready_offline()
    dog = phone.dogs["Bramble"]
    whole.set_offline(True)
    phone = take_behind_a_kill(phone, dog)
    photo = phone.records("photo", dog=dog)[0]["id"]
    is_told_when_full(phone, dog)
    is_discarded(phone, dog)
    # What is not ticked stays here, however often the phone syncs.
    whole.set_offline(False)
    phone.sync(server.data)
    phone.go(f"photo/{photo}")
    assert not phone.page.get_by_label("Copy to my book").is_checked()
    assert sent == []
    phone.page.get_by_text("Correct what was said").click()
    answer(phone.page, "Its nose points", "Right")
    phone.page.get_by_role("button", name="Save", exact=True).click()
    expect(phone.page.get_by_text("2 November 2025 · facing right · stickers")).to_be_visible()
    phone.page.get_by_label("Copy to my book").check()
    phone.page.get_by_label("Use as portrait").check()
    phone.until(lambda: phone.nudge() or sent, "the photo is sent")
    expect(phone.page.get_by_text("In your book.")).to_be_visible()
    phone.sync(server.data)
    (data,) = kept(phone.page).values()
    assert sent == [pictures.name(data)]
    shows_on_another_phone(Phone(context(**POCKET).new_page(), server.url), dog, data)
    comes_back_after_an_eviction(phone, dog, photo)
    is_removed_and_brought_back(phone, dog, photo)


def note(sent: list[str], asked: Request) -> None:
    if asked.method == "PUT":
        sent.append(asked.url.rpartition("/")[2])


def take_behind_a_kill(phone: Phone, dog: str) -> Phone:
    """A picture of 24 MP is kept before anything is asked, and the answers as they are given."""
    page = phone.page
    phone.go(f"dog/{dog}")
    page.get_by_role("link", name="Photos", exact=True).click()
    page.get_by_role("link", name="Take a photo").click()
    page.get_by_role("link", name="Side", exact=True).click()
    expect(page.get_by_text("4 m away with the 2× lens")).to_be_visible()
    put(page, camera(scene(1500, 1000).resize((6000, 4000)), quality=85))
    answer(page, "Is it sharp?", "Yes")
    answer(page, "Its nose points", "Left")
    phone.until(lambda: len(phone.rows("meta")) and drafts(phone) == 2, "the answers are a draft")
    page.close()
    # The app was ended; the person opens it again.
    phone = Phone(page.context.new_page(), phone.url).open()
    page = phone.page
    phone.go(f"dog/{dog}/photos")
    page.get_by_role("link", name="Go on").click()
    save = page.get_by_role("button", name="Save photo")
    save.click()
    expect(page.get_by_text("Look at the picture and answer.")).to_be_visible()
    assert phone.records("photo", dog=dog) == []
    answer(page, "Are all four feet", "Yes")
    page.get_by_text("Stickers on the points").click()
    save.click()
    page.wait_for_url("**/mark")
    (row,) = phone.records("photo", dog=dog)
    ((sha256, data),) = kept(page).items()
    image = told_nothing(data)
    assert row["values"] == {
        **{"dog": dog, "view": "side", "facing": "left", "stickers": True, "day": "2025-11-02"},
        **{"width": 2048, "height": 1365, "focal35": 52, "zoom": 2.5},
        **{"sha256": sha256, "bytes": len(data)},
    }
    assert image.size == (2048, 1365)
    assert pictures.name(data) == sha256
    assert drafts(phone) == 0
    return phone


def drafts(phone: Phone) -> int:
    return sum(row["key"].startswith("draft ") for row in phone.rows("meta"))


def is_told_when_full(phone: Phone, dog: str) -> None:
    page = phone.page
    phone.go(f"dog/{dog}/photo/front")
    page.evaluate(FULL)
    put(page, camera(scene(400, 300)))
    expect(page.get_by_role("alert")).to_contain_text("This phone is full. Free some space")
    assert len(kept(page)) == len(phone.records("photo", dog=dog)) == 1
    page.reload()
    page.locator("[data-part=file]").set_input_files(  # no picture at all
        {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": b"not a picture"}
    )
    expect(page.get_by_role("alert")).to_contain_text("not a picture that this phone can open")


def is_discarded(phone: Phone, dog: str) -> None:
    page = phone.page
    phone.go(f"dog/{dog}/photo/front")
    put(page, camera(scene(400, 300)))
    expect(page.get_by_role("button", name="Save photo")).to_be_visible()
    assert len(kept(page)) == 2
    phone.go(f"dog/{dog}/photos")
    page.get_by_role("button", name="Discard").click()
    expect(page.get_by_role("button", name="Discard")).to_have_count(0)
    phone.until(lambda: len(kept(page)) == 1, "what is discarded is gone at once")
    assert drafts(phone) == 0


def shows_on_another_phone(other: Phone, dog: str, data: bytes) -> None:
    """A portrait comes after a sync by itself, and is there without a signal."""
    other.open().ready_offline()
    other.until(lambda: other.nudge() or (made(other) and kept(other.page)), "it has the portrait")
    assert list(kept(other.page).values()) == [data]
    other.page.context.set_offline(True)
    for screen in (f"dog/{dog}", f"dog/{dog}/card", f"dog/{dog}"):
        other.go(screen)
        portrait = other.page.locator(".portrait")
        expect(portrait).to_be_visible()
        assert portrait.evaluate("it => it.decode().then(() => it.naturalWidth)") > 0, screen
    other.page.close()


def made(phone: Phone) -> bool:
    """Whether there is a store of photos yet; to open it would make an empty one."""
    names = phone.page.evaluate("indexedDB.databases().then((all) => all.map((it) => it.name))")
    return "ringside-photos" in names


def comes_back_after_an_eviction(phone: Phone, dog: str, photo: str) -> None:
    """What is in the book comes from there; what was never copied is said to be gone."""
    page = phone.page
    page.evaluate(EVICT)
    phone.go(f"photo/{photo}")
    expect(page.locator(".photo-frame img")).to_be_visible()
    phone.until(lambda: len(kept(page)) == 1, "it is kept again")
    page.get_by_label("Copy to my book").uncheck()
    page.evaluate(EVICT)
    phone.go(f"photo/{photo}")
    expect(page.get_by_text("was not copied to your book")).to_be_visible()
    assert len(phone.records("photo", dog=dog)) == 1


def is_removed_and_brought_back(phone: Phone, dog: str, photo: str) -> None:
    page = phone.page
    page.get_by_role("button", name="Remove this photo").click()
    expect(page.get_by_role("heading", name="Photo removed")).to_be_visible()
    assert not phone.records("dog", name="Bramble")[0]["values"].get("portrait")
    page.get_by_role("button", name="Bring it back").click()
    expect(page.get_by_role("heading", name="Side", exact=True)).to_be_visible()
    page.evaluate(EVICT)  # while it was the portrait, a sync may have fetched it
    page.reload()
    phone.go(f"dog/{dog}/photos")
    expect(page.locator(".photo-small.gone")).to_have_count(1)


# --- After a sync --------------------------------------------------------------------------------

# In the page, before the app's first line: note each transaction in the store of photos.
NOTED = """{
    globalThis.noted = [];
    const transaction = IDBDatabase.prototype.transaction;
    IDBDatabase.prototype.transaction = function (stores, mode, ...more) {
        if (this.name === "ringside-photos") noted.push(`${mode} ${[stores].flat().join(" ")}`);
        return transaction.call(this, stores, mode, ...more);
    };
}"""
# The modules that exchange photos, and a book that takes each.
AT_HAND = """async () => {
    const main = document.querySelector("script[type=module]").src;
    const names = ["store", "store/pixels", "photos", "syncstate"];
    const found = await Promise.all(
        names.map((name) => import(new URL(`../js/${name}.js`, main))));
    const [store, pixels, { exchangePhotos }, { answerPhotos }] = found;
    Object.assign(globalThis, { store, pixels, exchangePhotos, sent: [] });
    globalThis.haveBook = () => answerPhotos({
        get: async () => ({ status: 404 }),
        put: async (sha256) => ({ ok: Boolean(sent.push(sha256)) }),
    });
}"""
# Take so many photos of a dog, every other one to be copied; gives their records and names.
TAKEN = """async ([dog, many]) => {
    const made = [];
    for (let number = 0; number < many; number += 1) {
        const bytes = new TextEncoder().encode(`${many} ${number}`).buffer;
        const sha256 = await pixels.keepPixels(bytes);
        const values = { dog, day: "2025-11-02", view: "side", sha256, copy: number % 2 === 0 };
        made.push([await store.write("photo", null, values), sha256]);
    }
    return made;
}"""
# What the exchange after one sync does in the store of photos.
EXCHANGED = """async () => {
    noted = [];
    haveBook();
    await exchangePhotos();
    return noted;
}"""


def test_a_sync_that_moves_no_photo_costs_the_same_however_many_there_are(
    server: Server, context: Callable[..., BrowserContext], allowed_errors: list[str]
) -> None:
    allowed_errors.append(OUT_OF_REACH)
    opened = context(**POCKET).new_page()
    opened.add_init_script(NOTED)
    phone = Phone(opened, server.url).open().ready_offline()
    opened.evaluate(AT_HAND)
    server.stop()  # from here on it exchanges when it is told to
    dog = phone.dogs["Bramble"]
    costs = []
    for many in (3, 30):
        made = opened.evaluate(TAKEN, [dog, many])
        opened.evaluate("sent = []")
        opened.evaluate(EXCHANGED)
        assert set(opened.evaluate("sent")) == {sha256 for _, sha256 in made[::2]}
        costs.append(opened.evaluate(EXCHANGED))
    assert costs[0] == costs[1] != []
    assert not any(cost.startswith("readwrite") for cost in costs[0])

    # What nothing refers to stays for a while, and what is referred to again stays for good.
    (photo, sha256), (other, gone) = made[:2]
    for record in (photo, other):
        opened.evaluate("id => store.write('photo', id, { deleted: true })", record)
    opened.evaluate(EXCHANGED)
    told = dict(opened.evaluate("pixels.toldAll().then((all) => [...all])"))
    assert told[sha256]["loose"] == told[gone]["loose"] == date.today().isoformat()
    opened.evaluate("name => pixels.tell(name, { loose: '2025-01-01' })", gone)
    opened.evaluate("id => store.write('photo', id, { deleted: false })", photo)
    opened.evaluate(EXCHANGED)
    told = dict(opened.evaluate("pixels.toldAll().then((all) => [...all])"))
    assert told[sha256]["loose"] is None
    assert gone not in told
    assert gone not in opened.evaluate("pixels.pixelsKept()")
    assert sha256 in opened.evaluate("pixels.pixelsKept()")
