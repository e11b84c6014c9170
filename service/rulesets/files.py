"""The kinds of file that can lie over one another: their members, and what a change may not do."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import msgspec

from service.errors import Fault
from service.rulesets.overlay import RULES, Content, Shape
from service.rulesets.overlay_faults import overlay_faults
from service.rulesets.schema import OverlayFile, RuleFile


class Files(msgspec.Struct, frozen=True, kw_only=True):
    """One kind of file: the struct of a whole one, that of a change, and the faults of a change."""

    whole: type[Any]
    change: type[Any]
    shape: Shape
    change_faults: Callable[[Content, Content], list[Fault]]


RULE_FILES = Files(whole=RuleFile, change=OverlayFile, shape=RULES, change_faults=overlay_faults)
"""Files of rule sets."""
