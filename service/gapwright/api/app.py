"""The application factory: it joins settings, catalogs, routes and the request log."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from litestar import Litestar
from litestar.config.compression import CompressionConfig
from litestar.types import ASGIApp

from gapwright.api.batch import batch_route
from gapwright.api.calls import call_routes
from gapwright.api.catalog import Catalogs
from gapwright.api.check import check_route
from gapwright.api.middleware import RequestLog
from gapwright.api.problems import exception_handlers
from gapwright.api.refresh import refreshing
from gapwright.api.rules_pages.routes import rules_pages
from gapwright.api.settings import Settings
from gapwright.api.system import system_routes
from gapwright.api.versions import version_routes
from gapwright.engine import today_utc


def create_app(
    settings: Settings | None = None, *, today: Callable[[], date] | None = None
) -> ASGIApp:
    """Return the service as an ASGI application.

    Left out: the shipped rules, and today's date (UTC).
    """
    return RequestLog(create_litestar(settings, today))


def create_litestar(
    settings: Settings | None = None, today: Callable[[], date] | None = None
) -> Litestar:
    """Return the application without its request log."""
    settings = settings or Settings()
    catalogs = Catalogs(settings, today or today_utc)
    return Litestar(
        [
            *call_routes(catalogs),
            batch_route(catalogs),
            check_route(catalogs),
            *version_routes(catalogs),
            *system_routes(catalogs),
            rules_pages(catalogs),
        ],
        openapi_config=None,  # openapi.py says more: bounds, refused members, real examples
        logging_config=None,
        request_max_body_size=settings.most_body_bytes,
        lifespan=[refreshing(catalogs)],
        compression_config=CompressionConfig(
            "brotli", gzip_fallback=True, minimum_size=1000, exclude_opt_key="streamed"
        ),
        exception_handlers=exception_handlers(settings.most_body_bytes),
    )
