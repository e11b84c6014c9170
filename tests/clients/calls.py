"""Make each call with the generated Python client, and print what came back as JSON.

Run by `test_python.py`, which also checks the types here: python calls.py URL
"""

from __future__ import annotations

import json
import sys
from hashlib import sha256
from io import BytesIO
from pathlib import Path
from typing import Any

from gapwright_client import Client
from gapwright_client.api.jobs import (
    check_suitability,
    draw_layout,
    lay_out_arrays,
    list_materials,
    print_crew_sheet,
    quote_batch,
    quote_job,
    size_strip,
)
from gapwright_client.models import (
    Clearance,
    Joining,
    LayoutEnvelope,
    LayoutRequest,
    MaterialsEnvelope,
    MaterialsRequest,
    Packs,
    Problem,
    QuoteEnvelope,
    QuoteRequest,
    Racking,
    RoofCovering,
    SizingEnvelope,
    SizingRequest,
    SuitabilityEnvelope,
    SuitabilityRequest,
)
from gapwright_client.types import File, Unset

EXAMPLES = Path(__file__).parents[2] / "openapi" / "examples"


def example(name: str) -> Any:
    return json.loads((EXAMPLES / f"{name}.json").read_bytes())


def calls(client: Client) -> dict[str, Any]:
    """Return some figures of the answer to each call."""
    clearance = Clearance(readings=["4 1/2 in"])

    sizing = size_strip.sync(client=client, body=SizingRequest(clearance=clearance))
    assert isinstance(sizing, SizingEnvelope)
    assert isinstance(sizing.explanation, Unset)

    body = MaterialsRequest(perimeter="90 ft", clearance=clearance, joining=Joining.TIES)
    materials = list_materials.sync(client=client, body=body)
    assert isinstance(materials, MaterialsEnvelope)
    packs = {
        line.item: line.packs.count
        for line in materials.result.lines
        if isinstance(line.packs, Packs)
    }

    roof = SuitabilityRequest(
        roof_covering=RoofCovering.ASPHALT_SHINGLE, racking=Racking.RAIL_MOUNTED
    )
    suitability = check_suitability.sync(client=client, body=roof)
    assert isinstance(suitability, SuitabilityEnvelope)

    array = LayoutRequest.from_dict(example("layout-block"))
    layout = lay_out_arrays.sync(client=client, body=array)
    assert isinstance(layout, LayoutEnvelope)
    drawing = draw_layout.sync(client=client, body=array)
    assert isinstance(drawing, File)

    job = QuoteRequest.from_dict(example("quote-house"))
    quote = quote_job.sync(client=client, body=job)
    assert isinstance(quote, QuoteEnvelope)
    assert quote.result.price
    sheet = print_crew_sheet.sync(client=client, body=job)
    assert isinstance(sheet, File)

    lines = f"{json.dumps(example('quote-sparse'))}\n{{}}\n".encode()
    batch = quote_batch.sync(client=client, body=File(payload=BytesIO(lines)))
    assert isinstance(batch, File)

    unit = SizingRequest(clearance=Clearance(readings=["4 1/2"]))
    refusal = size_strip.sync(client=client, body=unit)
    assert isinstance(refusal, Problem)
    assert refusal.errors

    return {
        "sizing": sizing.result.strip.width.text if sizing.result.strip.width else None,
        "materials": packs,
        "suitability": suitability.result.verdict,
        "layout": [piece.cut_length.text for piece in layout.result.pieces],
        "drawing": sha256(drawing.payload.read()).hexdigest(),
        "quote": quote.result.price.total,
        "sheet": sha256(sheet.payload.read()).hexdigest(),
        "batch": [json.loads(line)["status"] for line in batch.payload.read().splitlines()],
        "refusal": [refusal.status, *(error.pointer for error in refusal.errors)],
    }


if __name__ == "__main__":
    print(json.dumps(calls(Client(base_url=sys.argv[1]))))
