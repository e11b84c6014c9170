"""Which values each figure of a sizing follows from."""

from __future__ import annotations

from functools import lru_cache

from service.calc.sizing import Sizing
from service.calc.trace import Step
from service.rulesets.values import Values

_TIGHT = ("values.tight_spot_drop", "values.tight_spot_share")
_REQUIRED = ("values.strip_margin",)
_STRIP = (*_REQUIRED, "values.stocked_widths")
_WEB = ("values.web_allowance", *_TIGHT)
_SNAP = ("values.snap_bends_to_wires",)
_TURN = ("values.turn_from", "values.turn_to", "values.turn_step")


def sizing_trace(sizing: Sizing, values: Values) -> tuple[Step, ...]:
    """Return a step for each figure of the sizing that a rule has a say in."""
    return _steps(
        sizing.strip_nm is not None, sizing.channel is not None, values.snap_bends_to_wires
    )


@lru_cache(maxsize=8)
def _steps(has_strip: bool, has_channel: bool, snapped: bool) -> tuple[Step, ...]:
    wires = ("values.mesh_opening",) if snapped else ()
    section = (*_STRIP, *_WEB, "values.least_web", *_SNAP, *wires)
    bent = (*section, *_TURN)
    steps = [
        Step("/clearance/tightest", _TIGHT),
        Step("/clearance/isolated", _TIGHT),
        Step("/strip/required_width", _REQUIRED),
        Step("/strip/width", _STRIP),
        Step("/strip/common", (*_STRIP, "values.common_widths")),
        Step("/strip/spare", _STRIP),
        Step("/advice", bent),
    ]
    if has_channel:
        least = (*section, "values.turn_from")
        steps.append(Step("/profile/web", section))
        steps.append(Step("/profile/flange", section))
        steps.append(Step("/profile/bend_lines", section))
        steps.append(Step("/profile/bend_angle/from", least))
        steps.append(Step("/profile/bend_angle/to", bent))
        steps.append(Step("/profile/free_height/from", least))
        steps.append(Step("/profile/free_height/to", bent))
        steps.append(Step("/profile/fit", least))
    else:
        steps.append(Step("/profile", section if has_strip else _STRIP))
    return tuple(steps)
