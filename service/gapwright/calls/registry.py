"""The computing calls: path, request, function and result of each."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import msgspec

from gapwright.calc.layout.result import LayoutResult
from gapwright.calc.sizing import SizingResult
from gapwright.calc.suitability import SuitabilityResult
from gapwright.calls.layout import LayoutRequest, layout
from gapwright.calls.materials import MaterialsRequest, MaterialsResult, materials
from gapwright.calls.quote_request import QuoteRequest
from gapwright.calls.quote_result import QuoteResult, compute_quote
from gapwright.calls.request import BaseRequest, Computed
from gapwright.calls.sizing import SizingRequest, sizing
from gapwright.calls.suitability import SuitabilityRequest, suitability


class Call(msgspec.Struct, frozen=True, kw_only=True):
    """One computing call: its id in the contract, path, request, result and function.

    A `priced` call also takes the price book that the request names, or None. `heavy` returns
    whether a request is slow enough to run apart from others.
    """

    id: str
    path: str
    summary: str
    request: type[BaseRequest]
    answer: type[msgspec.Struct]
    compute: Callable[..., Computed]
    examples: tuple[str, ...]
    """Names of the example requests in openapi/examples."""
    answers: tuple[str, ...] = ()
    """Names of the answers to some of them, in openapi/answers."""
    priced: bool = False
    heavy: Callable[[Any], bool] = lambda request: False


CALLS: tuple[Call, ...] = (
    Call(
        id="check_suitability",
        path="/v1/suitability",
        summary="Check whether a barrier can be installed, and how it is attached",
        request=SuitabilityRequest,
        answer=SuitabilityResult,
        compute=suitability,
        examples=("suitability-shingle", "suitability-nest"),
        answers=("suitability-shingle",),
    ),
    Call(
        id="size_strip",
        path="/v1/sizing",
        summary="Size the strip and the channel for a clearance",
        request=SizingRequest,
        answer=SizingResult,
        compute=sizing,
        examples=("sizing", "sizing-metric", "sizing-explained"),
        answers=("sizing", "sizing-explained"),
    ),
    Call(
        id="list_materials",
        path="/v1/materials",
        summary="List materials, estimated from a perimeter or counted from a layout",
        request=MaterialsRequest,
        answer=MaterialsResult,
        compute=materials,
        examples=("materials-rings", "materials-ties", "materials-counted"),
        answers=("materials-rings",),
        heavy=lambda request: request.layout is not None,
    ),
    Call(
        id="lay_out_arrays",
        path="/v1/layout",
        summary="Lay out pieces, overlaps, tabs, and returns around arrays",
        request=LayoutRequest,
        answer=LayoutResult,
        compute=layout,
        examples=("layout-block", "layout-two-planes", "layout-by-side"),
        answers=("layout-block",),
        heavy=lambda request: True,
    ),
    Call(
        id="quote_job",
        path="/v1/quote",
        summary="Quote a whole job: suitability, layout, materials, labor, and price",
        request=QuoteRequest,
        answer=QuoteResult,
        compute=compute_quote,
        examples=("quote-perimeter", "quote-sparse", "quote-house"),
        answers=("quote-perimeter",),
        priced=True,
        heavy=lambda request: True,
    ),
)

BY_NAME: dict[str, Call] = {call.path.removeprefix("/v1/"): call for call in CALLS}
"""Calls by the end of their path, as examples and what-if name them."""
