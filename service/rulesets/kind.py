"""The kinds of version that a shelf can hold: rule sets here, price books elsewhere."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any, Generic, Protocol, TypeVar

import msgspec

from service.rulesets.build.build import build, digest
from service.rulesets.files import RULE_FILES, Files
from service.rulesets.resolve import Resolved
from service.rulesets.ruleset import RuleSet


class Version(Protocol):
    """What a shelf knows of a version, whatever its kind."""

    @property
    def id(self) -> str:
        """Return whose version it is."""

    @property
    def version(self) -> str:
        """Return its number."""

    @property
    def name(self) -> str:
        """Return `id@version`."""

    @property
    def effective(self) -> date | None:
        """Return the first day on which it holds."""

    @property
    def status(self) -> str:
        """Return whether it is a draft, or to be published."""

    @property
    def digest(self) -> str:
        """Return the digest of its content."""

    @property
    def resolved(self) -> Resolved:
        """Return its content, and the documents it was made of."""


V = TypeVar("V", bound=Version)


class Kind(msgspec.Struct, Generic[V], frozen=True, kw_only=True):
    """A kind of version: what it is called, its files, and how it is built and digested."""

    noun: str
    files: Files
    build: Callable[[Resolved], V]
    digest: Callable[[Mapping[str, Any]], str]


RULE_SETS: Kind[RuleSet] = Kind(noun="rule set", files=RULE_FILES, build=build, digest=digest)
