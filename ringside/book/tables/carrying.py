"""A table on its way through a person's browser and back, signed: the server keeps none of it."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

from itsdangerous import BadSignature, URLSafeSerializer

from ringside.book.tables.cells import Order
from ringside.book.tables.sheets import SheetError


@dataclass(frozen=True)
class Carried:
    """What travels with the preview: the text, and how it is read. `digest` is what was shown."""

    text: str
    is_guessed: bool = False
    order: Order = ""
    digest: str = ""

    def signed(self, key: str, purpose: str) -> str:
        """Return it as text that only who has `key` can have made, and for this purpose."""
        packed = (self.text, self.is_guessed, self.order, self.digest)
        signed = _signer(key, purpose).dumps(packed)
        return signed if isinstance(signed, str) else signed.decode()

    @classmethod
    def unsigned(cls, signed: str, key: str, purpose: str) -> Carried:
        """Return what `signed` made. Raises SheetError."""
        try:
            return cls(*_signer(key, purpose).loads(signed))
        except BadSignature as error:
            raise SheetError("The table was cut off. Choose it again.") from error


def _signer(key: str, purpose: str) -> URLSafeSerializer:
    return URLSafeSerializer(key, salt=purpose, signer_kwargs={"digest_method": hashlib.sha256})
