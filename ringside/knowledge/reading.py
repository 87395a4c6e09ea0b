"""Reading one TOML file into one shape, and naming what is wrong as its writer would."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from importlib.resources.abc import Traversable
from typing import TypeVar

from pydantic import BaseModel, ValidationError

Model = TypeVar("Model", bound=BaseModel)


class KnowledgeError(Exception):
    """The files cannot be used. `problems` says for each: file, entry, what is wrong."""

    def __init__(self, problems: list[str]) -> None:
        """Keep the problems; the message is one a line."""
        self.problems = problems
        super().__init__("\n".join(problems))


def read(
    entry: Traversable, model: type[Model], problems: list[str], name: str = ""
) -> Model | None:
    """Return what the file `entry` holds, or None with what is wrong added to `problems`.

    `name` is how the file is called there; its own name if empty.
    """
    name = name or entry.name
    data: object = None
    try:
        data = tomllib.loads(entry.read_text(encoding="utf-8"))
        return model.model_validate(data)
    except FileNotFoundError:
        problems.append(f"{name}: the file is missing")
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        problems.append(f"{name}: not readable as TOML: {error}")
    except ValidationError as error:
        problems += [
            f"{name}: {place(data, item['loc'])}: {reason(item)}" for item in error.errors()
        ]
    return None


def place(data: object, path: tuple[int | str, ...]) -> str:
    """Name an entry as its writer would: its id or first words, not only its number."""
    words: list[str] = []
    for step in path:
        if isinstance(step, int) and isinstance(data, list) and step < len(data):
            data = data[step]
            label = data.get("id") or data.get("says") or "" if isinstance(data, dict) else ""
            words.append(f"number {step + 1}" + (f" ({str(label)[:60]})" if label else ""))
        else:
            data = data.get(step) if isinstance(data, dict) else None
            words.append(str(step))
    return ", ".join(words) or "the file"


def reason(item: Mapping[str, object]) -> str:
    """Return what is wrong in a sentence a person can act on."""
    if item["type"] == "missing":
        return "is missing; every entry must have it"
    if item["type"] == "extra_forbidden":
        return "is not a key we know; correct its spelling or remove it"
    return str(item["msg"]).removeprefix("Value error, ")
