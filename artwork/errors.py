"""The one error the engine raises for input it will not take."""

from __future__ import annotations


class EngineError(Exception):
    """A file or a value that cannot be used, said so that its sender knows what to do.

    Attributes:
        code: stable identifier, lower case with hyphens (``"image-too-large"``), part of the API.
        message: one sentence for the person who sent it.
        cure: one sentence: what to send or change instead.
    """

    def __init__(self, code: str, message: str, cure: str) -> None:
        super().__init__(code, message, cure)  # all three, so that it survives pickling between processes
        self.code = code
        self.message = message
        self.cure = cure

    def __str__(self) -> str:
        return f"{self.message} {self.cure}"
