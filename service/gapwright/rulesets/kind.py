"""The kinds of versioned file: rule sets here, price books elsewhere.

Both have a head, are laid over one another, are recorded in a ledger, are kept on a shelf and are
sealed by a digest. All of that code takes a `Kind`, which says in what the two differ.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import date
from typing import TYPE_CHECKING, Any, Generic, Literal, TypeVar

import msgspec
import rfc8785

from gapwright.canonical import canonical
from gapwright.canonical import digest as sha256
from gapwright.errors import Fault
from gapwright.rulesets.measure import Faults, Path
from gapwright.rulesets.overlay import Content, Shape
from gapwright.strict import convert, faults

if TYPE_CHECKING:
    from gapwright.rulesets.resolve import Resolved

HEAD: dict[str, Any] = {
    **dict.fromkeys(("title", "change", "approved_by"), "-"),
    "id": "x",
    "version": "0.0.0",
    "effective": "2000-01-01",
    "status": "draft",
}
"""The members that every file has of itself, and what stands in for one that is at fault.

They belong to one file, and are never inherited.
"""


class Version(msgspec.Struct, frozen=True, kw_only=True, eq=False, weakref=True):
    """One version, whatever its kind. It is itself only: two are equal when they are the same one.

    `effective` is None, and the status `sent`, where a request brought a price book along.
    """

    id: str
    version: str
    effective: date | None
    status: Literal["draft", "published", "withdrawn", "sent"]
    title: str
    digest: str
    resolved: Resolved

    @property
    def content(self) -> Mapping[str, Any]:
        """Return the whole content as plain data, as the files write it."""
        return self.resolved.content

    @property
    def name(self) -> str:
        """Return the name by which one version is called for: `id@version`."""
        return f"{self.id}@{self.version}"


V = TypeVar("V", bound=Version)
S = TypeVar("S", bound=msgspec.Struct)


class Kind(msgspec.Struct, Generic[V], frozen=True, kw_only=True):
    """A kind of versioned file: its name, its members, and how it is built.

    `whole` and `change` are the structs of a whole file and of one that changes another.
    `change_faults` judges a change against what it is laid over, and `fillers` stand in for
    members at fault while the rest is judged.
    """

    noun: str
    whole: type[Any]
    change: type[Any]
    shape: Shape
    fillers: Content
    change_faults: Callable[[Content, Content], list[Fault]]
    build: Callable[[Resolved], V]

    def read(self, content: Content, found: Faults) -> Any:  # noqa: ANN401 - an instance of `whole`
        """Return the content as a struct, without the entries at fault, so that all is judged.

        What is wrong with its shape is added to `found`, each fault once.
        """
        found[:] = dict.fromkeys([*found, *faults(content, self.whole, most=None)])
        return self.read_sound(content, found, self.whole)

    def read_sound(self, content: Content, found: list[Fault], form: type[S]) -> S:
        """Return the content as a struct, without the entries at fault."""
        known = form.__struct_fields__
        fillers = {name: part for name, part in self.fillers.items() if name in known}
        return convert({**fillers, **self.without(content, found)}, form)

    def without(self, content: Content, found: list[Fault]) -> dict[str, Any]:
        """Return content without its entries at fault, and without members at fault."""
        pruned = {name: dict(p) if isinstance(p, dict) else p for name, p in content.items()}
        for fault in found:
            section, *entry = fault.path or ("",)
            inside = pruned.get(str(section))
            if (
                entry
                and section in (*self.shape.sections, "tables", "remove")
                and isinstance(inside, dict)
            ):
                inside.pop(entry[0], None)
            else:
                pruned.pop(str(section), None)
        return pruned

    def digest(self, content: Content) -> str:
        """Return the `sha256:` digest of a version's content in canonical form (RFC 8785).

        The status is left out: withdrawing a version does not make it another one. Canonical JSON
        sorts names, so the order of entries in which it has a meaning is added. Content without a
        canonical form, such as one with an infinity, has no digest: the text is empty.
        """
        order: dict[str, Any] = {
            name: list(content[name])
            for name in self.shape.ordered
            if isinstance(content.get(name), dict)
        }
        if self.shape.tables:
            tables = content.get("tables", {})
            order["tables"] = {name: list(table["rows"]) for name, table in tables.items()}
        lasting = {name: part for name, part in content.items() if name != "status"}
        try:
            return sha256(canonical({**lasting, "order": order})).decode()
        except rfc8785.CanonicalizationError:
            return ""


def check_sources(content: Content, cited: Iterator[tuple[Path, str]], found: Faults) -> None:
    """Add a fault for each citation, given with its place, of a source that is not there."""
    known = content.get("sources")
    if not isinstance(known, Mapping):
        return  # reported already
    for path, source in cited:
        if source not in known:
            found.add_unknown(
                (*path, "source"), f"There is no source {source}.", source, list(known)
            )
