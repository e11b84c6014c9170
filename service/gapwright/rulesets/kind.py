"""The kinds of versioned file: rule sets and price books.

Both have a head, can be overlays, are recorded in a ledger, are loaded by a shelf, and have a
digest. All of that code takes a `Kind`, which says where the two differ.
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
"""The fields that describe the file itself, each with a filler in case it is invalid.

They belong to one file and are never inherited.
"""


class Version(msgspec.Struct, frozen=True, kw_only=True, eq=False, weakref=True):
    """One version of either kind, compared by identity.

    For a price book in a request, `effective` is None and the status is `sent`.
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
        """Return the name of the version: `id@version`."""
        return f"{self.id}@{self.version}"


V = TypeVar("V", bound=Version)
S = TypeVar("S", bound=msgspec.Struct)


class Kind(msgspec.Struct, Generic[V], frozen=True, kw_only=True):
    """A kind of versioned file: its noun, its fields, and how it is built.

    `whole` and `change` are the structs of a complete file and of an overlay. `change_faults`
    validates an overlay against its base. `fillers` replace invalid fields while the rest is
    validated.
    """

    noun: str
    whole: type[Any]
    change: type[Any]
    shape: Shape
    fillers: Content
    change_faults: Callable[[Content, Content], list[Fault]]
    build: Callable[[Resolved], V]

    def read(self, content: Content, found: Faults) -> Any:  # noqa: ANN401 - an instance of `whole`
        """Return the content as a struct, without invalid entries, so that the rest is validated.

        The faults of its shape are added to `found`, each once.
        """
        found[:] = dict.fromkeys([*found, *faults(content, self.whole, most=None)])
        return self.read_sound(content, found, self.whole)

    def read_sound(self, content: Content, found: list[Fault], form: type[S]) -> S:
        """Return the content as a struct, without invalid entries."""
        known = form.__struct_fields__
        fillers = {name: part for name, part in self.fillers.items() if name in known}
        return convert({**fillers, **self.without(content, found)}, form)

    def without(self, content: Content, found: list[Fault]) -> dict[str, Any]:
        """Return content without its invalid entries and fields."""
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

        The status is left out, so withdrawing a version does not change its digest. Canonical JSON
        sorts names, so the order of entries is added where it matters. Content without a canonical
        form, such as content with an infinity, has an empty digest.
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
    """Add a fault for each unknown source. `cited` has paths and sources."""
    known = content.get("sources")
    if not isinstance(known, Mapping):
        return  # already reported
    for path, source in cited:
        if source not in known:
            problem = f"Unknown source '{source}'."
            found.add_unknown((*path, "source"), problem, source, list(known))
