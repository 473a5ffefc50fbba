"""Every kind of event, one a file, listed once: adding a kind is one file, one line here, one golden file."""

from functools import reduce
from operator import or_
from typing import Any, Final

from service.domain.event import Event
from service.domain.kinds.assigned import Assigned
from service.domain.kinds.authorisation_ended import AuthorisationEnded
from service.domain.kinds.checked import Checked
from service.domain.kinds.cleaned import Cleaned
from service.domain.kinds.examined import Examined
from service.domain.kinds.exception_acknowledged import ExceptionAcknowledged
from service.domain.kinds.failed_check import FailedCheck
from service.domain.kinds.failed_in_use import FailedInUse
from service.domain.kinds.filter_replaced import FilterReplaced
from service.domain.kinds.fit_tested import FitTested
from service.domain.kinds.found import Found
from service.domain.kinds.instrument_defined import InstrumentDefined
from service.domain.kinds.issued import Issued
from service.domain.kinds.item_defined import ItemDefined
from service.domain.kinds.medically_cleared import MedicallyCleared
from service.domain.kinds.missing import Missing
from service.domain.kinds.model_defined import ModelDefined
from service.domain.kinds.moved import Moved
from service.domain.kinds.order_cancelled import OrderCancelled
from service.domain.kinds.order_placed import OrderPlaced
from service.domain.kinds.part_identified import PartIdentified
from service.domain.kinds.part_replaced import PartReplaced
from service.domain.kinds.policy_set import PolicySet
from service.domain.kinds.quarantined import Quarantined
from service.domain.kinds.recall_actioned import RecallActioned
from service.domain.kinds.recall_closed import RecallClosed
from service.domain.kinds.recall_opened import RecallOpened
from service.domain.kinds.received import Received
from service.domain.kinds.registered import Registered
from service.domain.kinds.released import Released
from service.domain.kinds.reorder_approved import ReorderApproved
from service.domain.kinds.repaired import Repaired
from service.domain.kinds.retagged import Retagged
from service.domain.kinds.retired import Retired
from service.domain.kinds.returned import Returned
from service.domain.kinds.sent_to_service import SentToService
from service.domain.kinds.site_defined import SiteDefined
from service.domain.kinds.stationed import Stationed
from service.domain.kinds.stock_counted import StockCounted
from service.domain.kinds.stock_discarded import StockDiscarded
from service.domain.kinds.stock_moved import StockMoved
from service.domain.kinds.stock_received import StockReceived
from service.domain.kinds.task_defined import TaskDefined
from service.domain.kinds.trained import Trained
from service.domain.kinds.use_set import UseSet
from service.domain.kinds.voided import Voided
from service.domain.kinds.worn import Worn

KINDS: Final[tuple[type[Event], ...]] = (
    Registered,
    Retagged,
    UseSet,
    Issued,
    Returned,
    Stationed,
    Moved,
    Received,
    SentToService,
    Worn,
    Checked,
    FailedCheck,
    FailedInUse,
    Examined,
    FilterReplaced,
    PartReplaced,
    PartIdentified,
    Cleaned,
    Repaired,
    Quarantined,
    Released,
    Missing,
    Found,
    RecallActioned,
    Retired,
    Trained,
    FitTested,
    MedicallyCleared,
    Assigned,
    AuthorisationEnded,
    StockReceived,
    StockCounted,
    StockDiscarded,
    StockMoved,
    ReorderApproved,
    OrderPlaced,
    OrderCancelled,
    RecallOpened,
    RecallClosed,
    ExceptionAcknowledged,
    SiteDefined,
    ModelDefined,
    ItemDefined,
    TaskDefined,
    PolicySet,
    InstrumentDefined,
    Voided,
)
"""In the order of the documentation."""

BY_NAME: Final = {kind.kind: kind for kind in KINDS}

AnyEvent: Final[Any] = reduce(or_, KINDS)
"""The union of all kinds, for decoders and the schema."""
