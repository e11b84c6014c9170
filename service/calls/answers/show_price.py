"""Show a price: amounts as decimal text, each with the currency's decimals."""

from __future__ import annotations

from decimal import Decimal

from service.calc.quote import Price, PricedLine, Share
from service.calls.answers.quote import (
    BookHead,
    FeeAnswer,
    PriceAnswer,
    PriceLine,
    ShareAnswer,
    TaxAnswer,
)
from service.calls.answers.show_bill import show_width
from service.pricebooks.pricebook import PriceBook
from service.quantity.show import System, decimal


def show_price(price: Price, not_firm: tuple[str, ...], system: System) -> PriceAnswer:
    """Return a price as a caller reads it; `not_firm` says what is open."""
    book = price.book
    return PriceAnswer(
        firm=not not_firm,
        not_firm=not_firm,
        book=BookHead(id=book.id, version=book.version, title=book.title, digest=book.digest),
        currency=book.currency,
        lines=tuple(_line(line, book, system) for line in price.lines),
        materials=_share(price.materials, book),
        labour=_share(price.labour, book) if price.labour else None,
        fees=tuple(
            FeeAnswer(
                fee=fee.id, means=fee.means, amount=show_amount(fee.amount, book), rule=fee.rule
            )
            for fee in price.fees
        ),
        minimum_added=show_amount(price.minimum_added, book),
        subtotal=show_amount(price.subtotal, book),
        taxes=tuple(
            TaxAnswer(
                tax=taxed.tax.id,
                means=taxed.tax.means,
                share=decimal(float(taxed.tax.share * 100)),
                of=show_amount(taxed.of, book),
                amount=show_amount(taxed.amount, book),
                rule=taxed.tax.rule,
            )
            for taxed in price.taxes
        ),
        total=show_amount(price.total, book) if price.total is not None else None,
        to_be_priced=price.untold,
    )


def show_amount(amount: Decimal, book: PriceBook) -> str:
    """Return an amount as decimal text with the decimals of its currency."""
    return f"{book.rounded(amount):f}"


def _line(line: PricedLine, book: PriceBook, system: System) -> PriceLine:
    order = line.order
    return PriceLine(
        item=order.item.id,
        description=order.item.description,
        strip_width=show_width(order.width_nm, system),
        packs=order.count,
        pack=order.pack,
        each=show_amount(line.each, book) if line.each is not None else None,
        amount=show_amount(line.amount, book) if line.amount is not None else None,
        to_be_priced=line.amount is None,
        rule=line.rule,
    )


def _share(share: Share, book: PriceBook) -> ShareAnswer:
    return ShareAnswer(
        cost=show_amount(share.cost, book),
        added=show_amount(share.added, book),
        price=show_amount(share.price, book),
    )
