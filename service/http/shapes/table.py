"""What each operation answers when all goes well, by its operation id; a status of its own where they differ."""

from typing import Final

from service.http.reference_data import RESOURCES
from service.http.shapes import (
    assets,
    compliance,
    devices,
    events,
    exceptions,
    health,
    problem,
    quarantine,
    recalls,
    receipts,
    rejected,
    scans,
    stock,
    webhooks,
)
from service.http.shapes.events import Definitions, RecordedAs, Shape

RECEIPT: Final = receipts.EventReceipt

SHOWS: Final[dict[str, Shape | dict[int, Shape]]] = {
    "post_events": {200: RECEIPT, 201: RECEIPT, 207: receipts.BatchReceipt},
    "get_feed": events.Feed,
    "get_event_stream": events.Feed,
    "get_event": events.RecordedEvent,
    "get_devices": devices.DeviceList,
    "get_assets": assets.AssetListNow,
    "get_asset": assets.AssetView,
    "get_history": events.History,
    "get_standing": assets.AssetStanding,
    "post_scans": scans.Scans,
    "get_compliance": compliance.Summary,
    "get_compliance_assets": assets.AssetList,
    "get_exceptions": exceptions.ExceptionCounts,
    "get_exception_report": exceptions.ExceptionReport,
    "post_quarantine": quarantine.Stopped,
    "get_recalls": recalls.RecallList,
    "get_recall_impact": recalls.RecallImpact,
    "post_recall_preview": recalls.RecallImpact,
    "get_stock": stock.StockList,
    "get_stock_ledger": stock.StockLedger,
    "get_consumption": stock.Consumption,
    "get_rejected": rejected.RejectedList,
    "get_rejected_one": rejected.RejectedMessage,
    "retry_rejected": RECEIPT,
    "dismiss_rejected": rejected.Dismissed,
    **{f"list_{one.word}": Definitions(one.word, one.said_by) for one in RESOURCES},
    **{f"get_{one.one}": RecordedAs(one.said_by) for one in RESOURCES},
    **{f"put_{one.one}": RECEIPT for one in RESOURCES},
    "post_webhook": webhooks.WebhookMade,
    "get_webhooks": webhooks.WebhookList,
    "get_webhook": webhooks.Webhook,
    "put_webhook": webhooks.Webhook,
    "post_webhook_secret": webhooks.WebhookSecret,
    "post_webhook_test": webhooks.WebhookTested,
    "get_deliveries": webhooks.DeliveryList,
    "get_dead_letters": webhooks.DeliveryList,
    "replay_dead_letter": webhooks.Delivery,
    "get_problems": problem.ProblemPages,
    "get_problem": problem.ProblemPage,
    "get_live": health.Live,
    "get_ready": health.Ready,
}
