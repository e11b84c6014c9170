"""Resolve a rule file: follow `based_on` to the root, and apply the changes."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import msgspec

from gapwright.errors import Fault
from gapwright.rulesets.kind import Kind
from gapwright.rulesets.overlay import at, lay
from gapwright.rulesets.reader import MAX_PROBLEMS, Document, Path, Problem, RuleFileError
from gapwright.strict import faults

DEEPEST_CHAIN = 6
"""Files in the longest chain of overlays, the root included."""

Find = Callable[[str], Document]
"""Gives the document of `id@version`; raises KeyError with a message when there is none."""


class Origin(msgspec.Struct, frozen=True, kw_only=True):
    """Where an entry of a rule set was written, and its content there."""

    ruleset: str
    """The version whose file this is, as id@version."""
    file: str
    """The file."""
    line: int
    """The line in that file."""
    entry: Any
    """What the file says there, any JSON value."""


class Resolved(msgspec.Struct, frozen=True, kw_only=True):
    """A rule set's whole content, and the documents it was made of, the root first."""

    content: dict[str, Any]
    documents: tuple[Document, ...]

    @property
    def chain(self) -> tuple[str, ...]:
        """Return the names of the versions that it was made of, the root first."""
        return tuple(document.name for document in self.documents)

    def origins(self, path: Path) -> tuple[Origin, ...]:
        """Return where an entry was written: first the root's, last the one in force."""
        found = []
        for document in self.documents:
            entry = at(document.tree, path)
            if entry is not None:
                line = document.places.get(path, (1, 1))[0]
                found.append(
                    Origin(ruleset=document.name, file=document.file, line=line, entry=entry)
                )
        return tuple(found)

    def refuse(self, found: list[Fault]) -> None:
        """Raise RuleFileError with all faults, each in the file where its entry was written."""
        if found:
            problems = [self._problem(fault) for fault in found]
            problems.sort(key=lambda p: (p.file, p.line, p.column))
            raise RuleFileError(problems[:MAX_PROBLEMS])

    def refuse_changes(self) -> None:
        """Raise RuleFileError with what is wrong with the last document's changes, if anything."""
        self.refuse(list(self.documents[-1].faults))

    def _problem(self, fault: Fault) -> Problem:
        top = self.documents[-1]
        for document in reversed(self.documents):
            if fault.path[:1] != fault.path and document.wrote(fault.path):
                return document.problem(fault)
        return top.problem(fault)


def resolve(
    document: Document, find: Find, kind: Kind[Any], above: tuple[str, ...] = ()
) -> Resolved:
    """Return the whole content of a file; `above` names the files that are based on it.

    What is wrong with the changes is in the faults of the last document, and is raised with all
    else when the content is built. Raises RuleFileError when the chain has a loop, is too long, or
    leads to a file that cannot be used.
    """
    based_on = document.tree.get("based_on")
    if not isinstance(based_on, str):
        if above:  # the base of an overlay must be a complete file
            document.refuse([*document.faults, *faults(document.tree, kind.whole)])
        return Resolved(content=document.tree, documents=(document,))
    if based_on in (*above, document.name):
        problem = f"{based_on} is based on this file, so the chain is circular."
        raise _refused(document, problem, "Base it on another rule set.")
    if len(above) + 2 > DEEPEST_CHAIN:
        problem = f"The chain of overlays has more than {DEEPEST_CHAIN} files."
        raise _refused(document, problem, "Base it on a version closer to the root.")
    try:
        base = resolve(find(based_on), find, kind, (*above, document.name))
    except KeyError as error:
        raise _refused(document, f"{based_on} is not published.", str(error.args[0])) from None
    # entries at fault keep what the base says, so that the rest is judged in the same go
    shape = faults(document.tree, kind.change, most=None)
    change = kind.without(document.tree, shape)
    changed = kind.change_faults(base.content, change)
    judged = msgspec.structs.replace(document, faults=(*document.faults, *shape, *changed))
    if above:
        judged.refuse(list(judged.faults))
    content = lay(base.content, kind.without(change, changed), kind.shape)
    return Resolved(content=content, documents=(*base.documents, judged))


def _refused(document: Document, problem: str, remedy: str) -> RuleFileError:
    fault = Fault(path=("based_on",), problem=problem, remedy=remedy)
    return RuleFileError([document.problem(fault)])
