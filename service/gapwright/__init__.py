"""Bird proofing for rooftop solar: the rules, sizing, layout, and price of a wire-mesh barrier."""

from gapwright.engine import Engine
from gapwright.errors import CrewSheetUnavailableError, GapwrightError, InvalidRequestError
from gapwright.rulesets.ledger import RulesetNotFoundError, WithdrawnError
from gapwright.rulesets.reader import RuleFileError
from gapwright.version import ENGINE

__version__ = ENGINE

__all__ = [
    "CrewSheetUnavailableError",
    "Engine",
    "GapwrightError",
    "InvalidRequestError",
    "RuleFileError",
    "RulesetNotFoundError",
    "WithdrawnError",
    "__version__",
]
