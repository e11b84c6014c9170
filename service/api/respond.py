"""Write answers and refusals, with the headers that all of them carry."""

from __future__ import annotations

import msgspec
from litestar import Response
from litestar.types import Send

from service.api.problems import MEDIA_TYPE, Headers, ProblemError, problem

_NO_STORE = (b"cache-control", b"no-store")
_PICTURE_POLICY = b"default-src 'none'; style-src 'unsafe-inline'"
_JSON = (b"content-type", b"application/json")


async def send_answer(send: Send, body: bytes, headers: Headers) -> None:
    """Send a JSON answer, which no cache may keep."""
    await _send(send, 200, body, (_JSON, *headers))


async def send_refusal(send: Send, error: ProblemError) -> None:
    """Send a refusal as a problem document."""
    body = msgspec.json.encode(problem(error))
    kind = (b"content-type", MEDIA_TYPE.encode())
    await _send(send, error.kind.status, body, (kind, *_told(error)))


def refusal(error: ProblemError) -> Response[bytes]:
    """Return a refusal as a problem document, for the framework to send."""
    told = (_NO_STORE, *_told(error))
    return Response(
        msgspec.json.encode(problem(error)),
        status_code=error.kind.status,
        media_type=MEDIA_TYPE,
        headers={name.decode(): value.decode() for name, value in told},
    )


def answer(content: object, headers: Headers = ()) -> Response[bytes]:
    """Return a JSON answer, which no cache may keep, for the framework to send."""
    return answer_bytes(msgspec.json.encode(content), headers)


def picture(svg: str, headers: Headers = ()) -> Response[str]:
    """Return a drawing, which carries its styles in it and loads nothing from anywhere."""
    told = (_NO_STORE, *headers, (b"content-security-policy", _PICTURE_POLICY))
    return Response(
        svg,
        media_type="image/svg+xml",
        headers={name.decode(): value.decode() for name, value in told},
    )


def printed(pdf: bytes, name: str, headers: Headers = ()) -> Response[bytes]:
    """Return a document to print, shown under a name to save it by."""
    shown = (b"content-disposition", f'inline; filename="{name}"'.encode())
    told = (_NO_STORE, *headers, shown)
    return Response(
        pdf,
        media_type="application/pdf",
        headers={name.decode(): value.decode() for name, value in told},
    )


def answer_bytes(body: bytes, headers: Headers = ()) -> Response[bytes]:
    """Return an encoded JSON answer, which no cache may keep, for the framework to send."""
    told = (_NO_STORE, *headers)
    return Response(
        body,
        media_type="application/json",
        headers={name.decode(): value.decode() for name, value in told},
    )


def _told(error: ProblemError) -> Headers:
    return (*(error.under.headers if error.under else ()), *error.headers)


async def _send(send: Send, status: int, body: bytes, headers: Headers) -> None:
    length = (b"content-length", str(len(body)).encode())
    told = [length, _NO_STORE, *headers]
    await send({"type": "http.response.start", "status": status, "headers": told})
    await send({"type": "http.response.body", "body": body, "more_body": False})
