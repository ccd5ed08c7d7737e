"""What was done to members, with which batches, what it cost, and when to look again."""

from .batches import Batch, BatchPart, BatchShare
from .calendar_feeds import CalendarFeed
from .costs import CostLine, Labour, SharedCost
from .drafts import Draft, DraftPhotograph
from .due_dates import DueDate, DueRule, MemberInterval
from .inspections import Inspection
from .photographs import Photograph
from .plans import Plan, PlanOption, PlanShape, PlanStage
from .prices import PriceIndex, PriceIndexYear
from .remarks import KeptRemark, SignOff
from .repairs import Repair, Stage
from .rounds import Round, RoundStop
from .sent_mails import SentMail
from .work_ahead import WorkMove, WorkRate

__all__ = [
    "Batch",
    "BatchPart",
    "BatchShare",
    "CalendarFeed",
    "CostLine",
    "Draft",
    "DraftPhotograph",
    "DueDate",
    "DueRule",
    "Inspection",
    "KeptRemark",
    "Labour",
    "MemberInterval",
    "Photograph",
    "Plan",
    "PlanOption",
    "PlanShape",
    "PlanStage",
    "PriceIndex",
    "PriceIndexYear",
    "Repair",
    "Round",
    "RoundStop",
    "SentMail",
    "SharedCost",
    "SignOff",
    "Stage",
    "WorkMove",
    "WorkRate",
]
