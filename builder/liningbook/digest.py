"""The digest of a rule bundle: the SHA-256 of its canonical form without the digest itself.

The canonical form is that of RFC 8785, JSON Canonicalization Scheme.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from typing import Any


def digest_of(bundle: Mapping[str, Any]) -> str:
    """The digest of a bundle, as 64 hexadecimal digits."""
    return hashlib.sha256(canonical({k: v for k, v in bundle.items() if k != "digest"})).hexdigest()


def canonical(value: Any) -> bytes:
    """The canonical form of RFC 8785."""
    import rfc8785

    canonical_form: bytes = rfc8785.dumps(value)
    return canonical_form
