"""All addresses."""

from litestar import Router

from service.http import (
    assets,
    compliance,
    devices,
    event_stream,
    events,
    exceptions,
    feed,
    health,
    labels,
    openapi_json,
    order_documents,
    problem_pages,
    quarantine,
    recall_lists,
    recalls,
    reference_data,
    rejected,
    reorders,
    scans,
    stock,
    webhooks,
)

ROUTES = (
    Router(
        "/v1",
        route_handlers=[
            *events.HANDLERS,
            *feed.HANDLERS,
            *event_stream.HANDLERS,
            *devices.HANDLERS,
            *assets.HANDLERS,
            *scans.HANDLERS,
            *labels.HANDLERS,
            *compliance.HANDLERS,
            *exceptions.HANDLERS,
            *quarantine.HANDLERS,
            *recalls.HANDLERS,
            *recall_lists.HANDLERS,
            *stock.HANDLERS,
            *rejected.HANDLERS,
            *reorders.HANDLERS,
            *order_documents.HANDLERS,
            *reference_data.HANDLERS,
            *webhooks.HANDLERS,
        ],
    ),
    *health.HANDLERS,
    *openapi_json.HANDLERS,
    *problem_pages.HANDLERS,
)
