"""A case as it is lived: the dialogue with its journal, and the line protocol for programs."""

from assistant.session.lines import decode, encode
from assistant.session.session import Entry, Session, digest_of

__all__ = ["Entry", "Session", "decode", "digest_of", "encode"]
