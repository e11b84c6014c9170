"""A rule set that notes which of its entries are read, for an explanation of an answer.

It has the same content as the rule set it is made from and is used in the same way; only reading
an attribute of an entry also notes the entry's key. Keys are dotted paths into the rule set.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import msgspec

from gapwright.rulesets.figures import Recorder
from gapwright.rulesets.ruleset import (
    Assumption,
    Effort,
    Item,
    LaborFactor,
    Mesh,
    Need,
    Ratio,
    RuleSet,
    Task,
    Zone,
)

_KEYS: Mapping[type, Mapping[str, str]] = {
    Item: {"spare": "{rule}.spare", "minimum": "{rule}.minimum", "pack": "{rule}.pack"},
    Need: {"each": "{rule}", "one_per": "{rule}"},
    Task: {},
    Effort: {"minutes": "{rule}", "one_per": "{rule}"},
    LaborFactor: {"share": "{rule}"},
    Assumption: {"value": "{rule}", "least": "{rule}", "most": "{rule}"},
    Mesh: {
        "wire_nm": "mesh.wire",
        "spacing_nm": "values.mesh_opening",
        "density": "mesh.density",
        "coating": "mesh.coating",
    },
}
"""Which attribute of an entry is written under which key; other attributes are only labels."""


def recording(rules: RuleSet) -> RuleSet:
    """Return the rule set with a recorder that notes what is read of it."""
    recorder = Recorder()

    def noted(entry: Any) -> Any:  # noqa: ANN401 - stands in for the entry
        return _Noted(entry, recorder)

    return msgspec.structs.replace(
        rules,
        values=_Values(rules.values, {}, recorder),
        bill=tuple(map(noted, rules.bill)),
        zones={name: _Zone(name, zone, recorder) for name, zone in rules.zones.items()},
        assumptions={name: noted(one) for name, one in rules.assumptions.items()},
        work=tuple(map(noted, rules.work)),
        labor_factors=tuple(map(noted, rules.labor_factors)),
        mesh=noted(rules.mesh) if rules.mesh else None,
        recorder=recorder,
    )


class _Noted:
    """Stands in for an entry and the entries inside it."""

    def __init__(self, entry: Any, recorder: Recorder) -> None:  # noqa: ANN401
        self._entry = entry
        self._recorder = recorder
        self._keys = _KEYS[type(entry)]
        self._parts: dict[str, tuple[_Noted, ...]] = {}
        for name in entry.__struct_fields__:
            part = getattr(entry, name)
            if isinstance(part, tuple) and part and type(part[0]) in _KEYS:
                self._parts[name] = tuple(_Noted(one, recorder) for one in part)

    def __getattr__(self, name: str) -> Any:  # noqa: ANN401
        if name in self._parts:
            return self._parts[name]
        value = getattr(self._entry, name)
        key = self._keys.get(name)
        if key and value:  # nothing is written where there is no spare, minimum or pack
            self._recorder.read((key.format(rule=getattr(self._entry, "rule", "")),))
        return value


class _Values:
    """Stands in for the values of a rule set, or of a zone that changes some of them."""

    def __init__(self, values: Any, zoned: Mapping[str, str], recorder: Recorder) -> None:  # noqa: ANN401
        self._values = values
        self._zoned = zoned
        self._recorder = recorder

    def __getattr__(self, name: str) -> Any:  # noqa: ANN401
        value = getattr(self._values, name)
        self._recorder.read((self._zoned.get(name, f"values.{name}"),))
        return value


class _Zone:
    """Stands in for a zone: its own values and ratios are written under the zone."""

    def __init__(self, name: str, zone: Zone, recorder: Recorder) -> None:
        own = {value: f"zones.{name}.values.{value}" for value in zone.changed}
        self.values = _Values(zone.values, own, recorder)
        self.changed = zone.changed
        self.ratios = _Ratios(name, zone.ratios, recorder)


class _Ratios(dict[tuple[str, str], Ratio]):
    """The ratios of a zone, by item and need."""

    def __init__(
        self, zone: str, ratios: Mapping[tuple[str, str], Ratio], recorder: Recorder
    ) -> None:
        super().__init__(ratios)
        self._zone = zone
        self._recorder = recorder

    def get(self, key: Any, default: Any = None) -> Any:  # noqa: ANN401
        """Return a ratio, and note the entry that it is written in."""
        if key in self:
            self._recorder.read((f"zones.{self._zone}.bill.{key[0]}.{key[1]}",))
        return super().get(key, default)
