"""Bird proofing for rooftop solar: the rules, sizing, layout, and price of a wire-mesh barrier."""

from gapwright.engine import Engine
from gapwright.errors import BadInputError as InvalidRequestError
from gapwright.errors import GapwrightError, NoCrewSheetError
from gapwright.rulesets.ledger import NoSuchRulesetError, WithdrawnError
from gapwright.rulesets.reader import RuleFileError
from gapwright.version import ENGINE

__version__ = ENGINE

__all__ = [
    "Engine",
    "GapwrightError",
    "InvalidRequestError",
    "NoCrewSheetError",
    "NoSuchRulesetError",
    "RuleFileError",
    "WithdrawnError",
    "__version__",
]
