"""Streams for clients that wait for the end of an answer: they hang up once they are told that all is told."""

import asyncio
from typing import Any

STREAM = b"text/event-stream"
ALIVE = b":\n"


def hanging_up(app: Any) -> Any:
    """Wrap an application: whoever asks it hangs up on a stream at its first line of comment."""

    async def asking(scope: Any, receive: Any, send: Any) -> None:
        is_stream, told = False, asyncio.Event()

        async def receiving() -> Any:
            await told.wait() if is_stream else None
            return await receive()

        async def sending(message: Any) -> None:
            nonlocal is_stream
            if told.is_set():
                return
            if message["type"] == "http.response.start":
                is_stream = any(name == b"content-type" and STREAM in value for name, value in message["headers"])
            if is_stream and message.get("body") == ALIVE:
                message = {**message, "more_body": False}
            if not message.get("more_body", True):
                told.set()
            await send(message)

        await app(scope, receiving if scope["type"] == "http" else receive, sending)

    return asking
