"""Rule sets that stand on a withdrawn version: they are served, and it is told."""

from __future__ import annotations

from service.rulesets.kind import Version
from service.rulesets.ledger import Ledger, Record
from service.rulesets.reader import Problem


def withdrawn_bases(rules: Version, ledger: Ledger) -> list[Record]:
    """Return the versions that a rule set is based on and that were withdrawn, the root first."""
    found = []
    for document in rules.resolved.documents[:-1]:
        identifier, version = str(document.tree.get("id")), str(document.tree.get("version"))
        record = ledger.get(identifier, {}).get(version)
        if record is not None and record.withdrawn is not None:
            found.append(record)
    return found


def withdrawn_problems(rules: Version, ledger: Ledger) -> list[Problem]:
    """Return a problem for each withdrawn version that a rule set, itself standing, rests on."""
    own = ledger.get(rules.id, {}).get(rules.version)
    if own is None or own.withdrawn is not None:
        return []
    document = rules.resolved.documents[-1]
    line, column = document.places.get(("based_on",), (1, 1))
    return [
        Problem(
            file=document.file,
            line=line,
            column=column,
            key="based_on",
            problem=f"{base.name} was withdrawn on {base.withdrawn}.",
            remedy="Answers are still given; publish a version on one that stands.",
        )
        for base in withdrawn_bases(rules, ledger)
    ]
