"""Write answers and refusals, with the headers that all of them carry."""

from __future__ import annotations

import msgspec
from litestar import Response
from litestar.types import HTTPResponseBodyEvent, HTTPResponseStartEvent, Send

from service.api.envelope import Imprint
from service.api.problems import MEDIA_TYPE, Headers, ProblemError, problem

_NO_STORE = (b"cache-control", b"no-store")
_PICTURE_POLICY = b"default-src 'none'; style-src 'unsafe-inline'"
_JSON = (b"content-type", b"application/json")


class Reply(msgspec.Struct, frozen=True, gc=False):
    """A whole answer, before it is sent; `ruleset` is the one that it follows, for the log."""

    status: int
    headers: Headers
    body: bytes
    ruleset: bytes = b""

    def start(self, *more: tuple[bytes, bytes]) -> HTTPResponseStartEvent:
        """Return the message that begins the answer, with more headers."""
        length = (b"content-length", b"%d" % len(self.body))
        headers = [length, _NO_STORE, *self.headers, *more]
        return {"type": "http.response.start", "status": self.status, "headers": headers}

    def rest(self) -> HTTPResponseBodyEvent:
        """Return the message with the body, which ends the answer."""
        return {"type": "http.response.body", "body": self.body, "more_body": False}


def replied(body: bytes, imprint: Imprint) -> Reply:
    """Return a JSON answer under a rule set, which no cache may keep."""
    return Reply(200, (_JSON, *imprint.headers), body, imprint.name)


def refused(error: ProblemError) -> Reply:
    """Return a refusal as a problem document."""
    body = msgspec.json.encode(problem(error))
    headers = ((b"content-type", MEDIA_TYPE.encode()), *_told(error))
    return Reply(int(error.kind.status), headers, body, error.under.name if error.under else b"")


async def send_reply(send: Send, reply: Reply) -> None:
    """Send a whole answer."""
    await send(reply.start())
    await send(reply.rest())


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
