"""Layout requests that tests share, and what they are answered."""

from __future__ import annotations

import pytest
from gapwright.calls import layout as layout_call
from gapwright.calls import materials as materials_call
from gapwright.calls.layout import LayoutRequest
from gapwright.calls.materials import MaterialsRequest
from gapwright.errors import InvalidRequestError
from gapwright.strict import convert

from tests.unit.make import baseline
from tests.unit.wire import as_sent

CLEARANCE = {"clearance": {"readings": ["4 1/2 in"]}}
BLOCK = {"rows": 2, "columns": 6, "long_side": "66 in", "short_side": "40 in"}
ARRAY = {"array": {"blocks": [BLOCK]}}


def layout(**told):
    request = convert({**CLEARANCE, **told}, LayoutRequest)
    assert request.faults() == []
    return as_sent(layout_call.layout(request, baseline()).result, request.units or "imperial")


def drawing(**told):
    """Return the drawing of a layout as SVG."""
    return layout_call.drawing(convert({**CLEARANCE, **told}, LayoutRequest), baseline())


def materials(told, **more):
    request = convert({"layout": told, **(more or CLEARANCE)}, MaterialsRequest)
    assert request.faults() == []
    return as_sent(
        materials_call.materials(request, baseline()).result, request.units or "imperial"
    )


def refused(**told):
    """Return the faults that the geometry of a request has."""
    with pytest.raises(InvalidRequestError) as caught:
        layout(**told)
    return caught.value.faults


def request_faults(**told):
    """Return the faults of a request that are known before anything is computed."""
    return convert({**CLEARANCE, **told}, LayoutRequest).faults()


def segment(x, y, u, v):
    """Return a rail from one place to another [in]."""
    start, end = ({"x": f"{a} in", "y": f"{b} in"} for a, b in ((x, y), (u, v)))
    return {"start": start, "end": end}
