"""Read a YAML file into plain data, strictly, keeping the place of every key and value.

YAML 1.2 core meaning: `no` is text, `1:30` is text, only `true` and `false` are booleans. Anchors,
aliases, tags, several documents, duplicate keys, and keys that are not text are rejected: people
read rule files, and a file says each thing once and in full. The tree is built straight from the
event stream, so that nothing is expanded before it is checked.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import msgspec
import yaml
from yaml.error import MarkedYAMLError, YAMLError
from yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    Event,
    MappingEndEvent,
    MappingStartEvent,
    NodeEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
)
from yaml.reader import ReaderError

from gapwright.errors import Fault, GapwrightError

MOST_BYTES = 1_000_000
DEEPEST = 20
_NESTED = f"This is nested more than {DEEPEST} levels deep."
_NO_CHARACTER = "This escape sequence is not a valid character."
MOST_ENTRIES = 40_000
"""Names, values and lists in a file; to parse them takes most of the time of reading it."""

Path = tuple[str | int, ...]
Place = tuple[int, int]

_INT = re.compile(r"[-+]?[0-9]{1,15}", re.ASCII)
_FLOAT = re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?", re.ASCII)
_HALF = re.compile("[\ud800-\udfff]")
_OLD_BREAK = re.compile("[\x85\u2028\u2029]")
"""Line breaks to YAML 1.1 and to the parser, ordinary characters to YAML 1.2: not allowed here."""
_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
"""Only its events are used. That of libyaml is some twenty times as fast; wheels bring it along."""
MAX_PROBLEMS = 500
_WORDS = {
    **dict.fromkeys(("", "~", "null", "Null", "NULL")),
    **dict.fromkeys(("true", "True", "TRUE"), True),
    **dict.fromkeys(("false", "False", "FALSE"), False),
}


class Problem(msgspec.Struct, frozen=True, kw_only=True):
    """One thing wrong with a rule file; `line` and `column` count from 1."""

    file: str
    """The file."""
    line: int
    """The line, from 1."""
    column: int
    """The column, from 1."""
    key: str
    """The entry, by its dotted path."""
    problem: str
    """What is wrong."""
    remedy: str
    """What to write instead."""

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}:{self.column}"
        return f"{place}: {self.key}: {self.problem} {self.remedy}".rstrip()


class RuleFileError(GapwrightError):
    """A rule file cannot be used; `problems` lists everything that is wrong with it."""

    def __init__(self, problems: list[Problem]) -> None:
        super().__init__("\n".join(str(problem) for problem in problems))
        self.problems = tuple(problems)


class Document(msgspec.Struct, frozen=True, kw_only=True):
    """A rule file as plain data, and the place of each path in the file."""

    file: str
    tree: dict[str, Any]
    places: dict[Path, Place]
    faults: tuple[Fault, ...] = ()
    """Duplicate keys and keys that are no text, found while reading."""

    @property
    def name(self) -> str:
        """Return `id@version`, as the file states them."""
        return f"{self.tree.get('id')}@{self.tree.get('version')}"

    def wrote(self, path: Path) -> bool:
        """Return whether this file contains the entry at a path, or the one around it."""
        entry = 4 if path[0] == "tables" and len(path) >= 4 else 2
        return any(path[:length] in self.places for length in range(len(path), entry - 1, -1))

    def problem(self, fault: Fault) -> Problem:
        """Return a fault with its place: of the path itself, or of the nearest one above it."""
        path = fault.path
        while path and path not in self.places:
            path = path[:-1]
        line, column = self.places.get(path, (1, 1))
        return Problem(
            file=self.file,
            line=line,
            column=column,
            key=".".join(str(step) for step in fault.path) or "the file",
            problem=fault.problem,
            remedy=fault.remedy,
        )

    def refuse(self, faults: list[Fault]) -> None:
        """Raise RuleFileError with all faults in the order of the file, if there are any."""
        if faults:
            found = [self.problem(fault) for fault in faults]
            raise RuleFileError(sorted(found, key=lambda p: (p.line, p.column))[:MAX_PROBLEMS])


def read(data: bytes, file: str) -> Document:
    """Return a rule file's content as plain data with places.

    Raises RuleFileError for what is no YAML or is refused whole.
    """
    builder = _Builder(file)
    text = _text(data, file)
    try:
        builder.read(text)
    except MarkedYAMLError as error:
        raise _not_yaml(error, text, file) from None
    except ReaderError as error:
        before = text.encode()[: error.position].decode(errors="ignore")
        raise _not_allowed(file, before, error.character) from None
    except YAMLError as error:
        problem = f"This is not YAML: {str(error).splitlines()[0]}."
        raise _refusal(file, problem, "Use printable UTF-8 text.") from None
    except (ValueError, OverflowError):  # an escape past the last character of Unicode
        raise _refusal(file, _NO_CHARACTER, "Remove it.", builder.line) from None
    return Document(
        file=file, tree=builder.tree, places=builder.places, faults=tuple(builder.faults)
    )


def _text(data: bytes, file: str) -> str:
    if len(data) > MOST_BYTES:
        raise _refusal(file, f"The file has more than {MOST_BYTES} bytes.", "Make it shorter.")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise _refusal(file, "The file is not UTF-8.", "Save it as UTF-8.", line) from None
    found = _OLD_BREAK.search(text)
    if found is not None:
        raise _not_allowed(file, text[: found.start()], ord(found[0]))
    return text


def _not_yaml(error: MarkedYAMLError, text: str, file: str) -> RuleFileError:
    mark = error.problem_mark or error.context_mark
    line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
    said = str(error.problem or error.context)
    if "nesting" in said:  # the parser has a bound of its own
        return _refusal(file, _NESTED, "Flatten it.", line, column)
    if mark and "cannot start any token" in said and text[mark.index : mark.index + 1] == "\t":
        said = "a tab is used for indentation"
    remedy = "Check the indentation, colons, and quotes around here."
    if "\\t" in said or "tab" in said:
        remedy = "Indent with spaces, not tabs."
    return _refusal(file, f"This is not YAML: {said}.", remedy, line, column)


def _not_allowed(file: str, before: str, character: int) -> RuleFileError:
    """Return the refusal of a character after the text before it."""
    line, column = before.count("\n") + 1, len(before) - before.rfind("\n")
    problem = f"The character U+{character:04X} is not allowed here."
    return _refusal(file, problem, "Remove it.", line, column)


def _refusal(file: str, problem: str, remedy: str, line: int = 1, column: int = 1) -> RuleFileError:
    """Return the refusal of a file as a whole."""
    found = Problem(
        file=file, line=line, column=column, key="the file", problem=problem, remedy=remedy
    )
    return RuleFileError([found])


class _Builder:
    """Builds the tree of one document from the event stream."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.tree: dict[str, Any] = {}
        self.places: dict[Path, Place] = {}
        self.faults: list[Fault] = []
        self.line = 1

    def read(self, text: str) -> None:
        events = self._checked(yaml.parse(text, Loader=_LOADER))
        for event in events:
            if isinstance(event, MappingStartEvent):
                self.tree = self._mapping(events, ())
            elif isinstance(event, NodeEvent):
                raise self._refusal(event, "The file is not a mapping.", "Start it with id: ...")
        if not self.tree and not self.faults:
            raise _refusal(self.file, "The file is empty.", "Start it with id: ...")

    def _checked(self, events: Iterator[Event]) -> Iterator[Event]:
        """Yield the events that are allowed, and refuse the file at any other."""
        depth = documents = entries = 0
        for event in events:
            self.line = event.end_mark.line + 1 if event.end_mark else self.line
            self._check_plain(event)
            documents += isinstance(event, DocumentStartEvent)
            entries += isinstance(event, NodeEvent)
            depth += isinstance(event, (MappingStartEvent, SequenceStartEvent))
            depth -= isinstance(event, (MappingEndEvent, SequenceEndEvent))
            if documents > 1:
                raise self._refusal(
                    event, "The file has a second document.", "Use one document per file."
                )
            if depth > DEEPEST:
                raise self._refusal(event, _NESTED, "Flatten it.")
            if entries > MOST_ENTRIES:
                problem = f"The file has more than {MOST_ENTRIES} names and values."
                raise self._refusal(event, problem, "Shorten or split it.")
            yield event

    def _check_plain(self, event: Event) -> None:
        if isinstance(event, AliasEvent):
            raise self._refusal(event, "An alias (*) is not allowed.", "Write out the content.")
        if isinstance(event, NodeEvent) and event.anchor is not None:
            raise self._refusal(event, "An anchor (&) is not allowed.", "Remove it.")
        if getattr(event, "tag", None) is not None:
            raise self._refusal(event, "A tag (!) is not allowed.", "Remove it.")
        value = getattr(event, "value", None)
        if isinstance(value, str) and _HALF.search(value):
            raise self._refusal(event, _NO_CHARACTER, "Remove it.")

    def _refusal(self, event: Event, problem: str, remedy: str) -> RuleFileError:
        return _refusal(self.file, problem, remedy, *_place(event))

    def _mapping(self, events: Iterator[Event], path: Path) -> dict[str, Any]:
        found: dict[str, Any] = {}
        for event in events:
            if isinstance(event, MappingEndEvent):
                break
            name = self._key(event, events, path)
            if name is not None and name in found:
                problem = f"Duplicate key; it is also on line {self.places[(*path, name)][0]}."
                self._note((*path, name), event, problem, "Keep one of the two.")
                name = None
            if name is None:  # the value is read past
                self._node(next(events), events, (*path, "?"))
                continue
            self.places[(*path, name)] = _place(event)
            found[name] = self._node(next(events), events, (*path, name))
        return found

    def _key(self, event: Event, events: Iterator[Event], path: Path) -> str | None:
        """Return a key's text, or None (with a fault noted) where it is no text."""
        if not isinstance(event, ScalarEvent):
            self._note(path, event, "A key must be text.", "Write a name followed by a colon.")
            self._node(event, events, ("?",))  # read past a mapping or a list
            return None
        name = _scalar(event)
        if isinstance(name, str):
            return name
        problem = f"The key {event.value or '(empty)'} is not text."
        self._note((*path, str(event.value)), event, problem, "Put it in quotes.")
        return None

    def _note(self, path: Path, event: Event, problem: str, remedy: str) -> None:
        marked = (*path[:-1], f"{path[-1]} (line {_place(event)[0]})") if path else path
        self.places[marked] = _place(event)
        self.faults.append(Fault(path=marked, problem=problem, remedy=remedy))

    def _node(self, event: Event, events: Iterator[Event], path: Path) -> object:
        if isinstance(event, MappingStartEvent):
            return self._mapping(events, path)
        if isinstance(event, SequenceStartEvent):
            found: list[Any] = []
            for item in events:
                if isinstance(item, SequenceEndEvent):
                    break
                here = (*path, len(found))
                self.places[here] = _place(item)
                found.append(self._node(item, events, here))
            return found
        self.places.setdefault(path, _place(event))
        return _scalar(event)


def _place(event: Event) -> Place:
    mark = event.start_mark
    return (mark.line + 1, mark.column + 1) if mark else (1, 1)


def _scalar(event: Event) -> object:
    """Return a scalar by the YAML 1.2 core schema; what is quoted is text."""
    assert isinstance(event, ScalarEvent)
    text = str(event.value)
    if not event.implicit[0]:
        return text
    if text in _WORDS:
        return _WORDS[text]
    if _INT.fullmatch(text):
        return int(text)
    return float(text) if _FLOAT.fullmatch(text) else text
