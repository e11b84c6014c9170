"""A quote as a caller reads it. Amounts are decimal text in the currency of the price."""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec

from service.calls.answers.layout import CutPlanAnswer, LayoutAnswer, ToldReadings
from service.calls.answers.materials import PartAnswer, ToolsAnswer, Unit
from service.calls.answers.sizing import (
    AdviceAnswer,
    ClearanceAnswer,
    ProfileAnswer,
    StripAnswer,
)
from service.calls.answers.suitability import SuitabilityAnswer
from service.calls.quote_forms import JobForm
from service.quantity.show import Duration, Length, Weight

Amount = Annotated[str, msgspec.Meta(pattern="^-?[0-9]+([.][0-9]+)?$", examples=["128.40"])]


class StripSizing(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """A strip and its profile, with the arrays and drawn planes that take it, by name.

    Arrays that are not drawn share it where they have the same readings. Drawn planes take their
    strips as a layout does: `layout_strip` is what `layout` calls it, and `told` has the readings
    that it was sized for, with their places; null and empty where no drawn plane takes it.
    """

    arrays: tuple[str, ...]
    clearance: ClearanceAnswer
    strip: StripAnswer
    profile: ProfileAnswer | None
    advice: tuple[AdviceAnswer, ...]
    layout_strip: str | None
    told: tuple[ToldReadings, ...]


class EstimatedArray(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """One array as the thumb rules take it; `corners` null: the rule set's usual count."""

    name: str
    perimeter: Length
    corners: int | None
    penetrations: int
    strip_width: Length | None


class EstimateAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """What the thumb rules go by, for the arrays that are not drawn."""

    perimeter: Length
    arrays: tuple[EstimatedArray, ...]


class UseAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """How much of an item the job uses, spare included; mesh stands once for each strip width."""

    item: str
    description: str
    quantity: float
    unit: Unit
    strip_width: Length | None
    weight: Weight | None
    parts: tuple[PartAnswer, ...]
    rule: str


class OrderAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """What to order of an item: so many packs; `weight` is that of one pack of mesh."""

    item: str
    description: str
    strip_width: Length | None
    packs: int
    pack: str
    holds: float
    left_over: float
    unit: Unit
    weight: Weight | None


class WidthPlanAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """How the pieces of one strip width are cut from its rolls, over the whole job."""

    strip_width: Length
    cut_plan: CutPlanAnswer


class BillAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """What is used, what is ordered, and how rolls are cut; `mesh_weight` is what goes up."""

    lines: tuple[UseAnswer, ...]
    order: tuple[OrderAnswer, ...]
    cut_plans: tuple[WidthPlanAnswer, ...]
    mesh_weight: Weight | None


class TaskAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The time of one person that a task takes."""

    task: str
    means: str
    time: Duration
    rule: str


class SurchargeAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The time of one person that circumstances add, as a share of all tasks."""

    surcharge: str
    means: str
    share: float
    time: Duration
    rule: str


class LabourAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The work, by rates that are the company's to calibrate.

    `untold` names facts that rates ask for and that the request does not tell: what hangs on them
    is left out.
    """

    tasks: tuple[TaskAnswer, ...]
    surcharges: tuple[SurchargeAnswer, ...]
    person_hours: Duration
    crew_hours: Duration
    crew: int
    days: float
    untold: tuple[str, ...]


class ScheduleAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """How long a crew is on site: days go up to the next half."""

    crew: int
    days: float
    hours_on_site: Duration
    working_day: Duration


class BookHead(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Which price book the amounts come from, and the digest of its content."""

    id: str
    version: str
    title: str
    digest: str


class PriceLine(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """What an order line costs; without a price in the book it is to be priced, never free."""

    item: str
    description: str
    strip_width: Length | None
    packs: int
    pack: str
    each: Amount | None
    amount: Amount | None
    to_be_priced: bool
    rule: str | None


class ShareAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """What a part costs the company, what is put on it, and the price that this leads to."""

    cost: Amount
    added: Amount
    price: Amount


class FeeAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """An amount that the job costs once."""

    fee: str
    means: str
    amount: Amount
    rule: str


class TaxAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """A tax: its share [percent], what it is taken of, and what it comes to."""

    tax: str
    means: str
    share: float
    of: Amount
    amount: Amount
    rule: str


class PriceAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The price: materials, labour, fees and what the minimum charge adds make the subtotal.

    `total` adds the taxes. It is null as long as something is to be priced: `to_be_priced` names
    it, and `subtotal` then holds only what could be priced. `labour` is null without a rate.
    `firm` is true where nothing that is known to be open can change the price; `not_firm` says
    what is open. Site flags that were not told are taken as false and do not count as open:
    what they would change first is the verdict, and `suitability.assumptions` lists each of them,
    to be looked for before the job is sold.

    `minimum_added` is charged for coming at all and counts as a fee: a tax that the price book puts
    on fees is taken of it, another is not. It is zero as long as something is to be priced.
    """

    firm: bool
    not_firm: tuple[str, ...]
    book: BookHead
    currency: str
    lines: tuple[PriceLine, ...]
    materials: ShareAnswer
    labour: ShareAnswer | None
    fees: tuple[FeeAnswer, ...]
    minimum_added: Amount
    subtotal: Amount
    taxes: tuple[TaxAnswer, ...]
    total: Amount | None
    to_be_priced: tuple[str, ...]


class TotalRange(msgspec.Struct, frozen=True, kw_only=True, gc=False, rename={"from_": "from"}):
    """The least and the greatest total over what is likely."""

    from_: Amount
    to: Amount


class QuoteAssumption(
    msgspec.Struct, frozen=True, kw_only=True, gc=False, rename={"from_": "from"}
):
    """What the request did not tell, what was taken, its likely range, and the range of the total.

    `total` is null where the job is unsuitable, or cannot be priced, somewhere in the range.
    `places` are JSON pointers to where the request could have told it.
    """

    name: str
    means: str
    taken: str
    from_: str
    to: str
    total: TotalRange | None
    places: tuple[str, ...]
    rule: str


class AlternativeAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Another way of doing the job, with what it changes; the verdict stays the same.

    `total_change` is null where a price is missing on either side.
    """

    change: Literal["joining", "painted", "bending", "strip_width", "roll_length"]
    to: str
    text: str
    total: Amount | None
    total_change: Amount | None
    person_hours: Duration | None
    hours_change: float | None


class QuoteAnswer(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The whole job. An unsuitable one has a verdict with its reasons, and nothing to order.

    `layout` stands for planes that are drawn, `estimate` for arrays that are not. `no_price` says
    why there is no price. `alternatives` stands where it was asked for.
    """

    job: JobForm
    suitability: SuitabilityAnswer
    sizing: tuple[StripSizing, ...]
    estimate: EstimateAnswer | None
    layout: LayoutAnswer | None
    bill: BillAnswer | None
    labour: LabourAnswer | None
    schedule: ScheduleAnswer | None
    price: PriceAnswer | None
    no_price: str | None
    tools: ToolsAnswer | None
    assumptions: tuple[QuoteAssumption, ...]
    alternatives: tuple[AlternativeAnswer, ...] | msgspec.UnsetType = msgspec.UNSET
