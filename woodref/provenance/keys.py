"""The maker's signing key (Ed25519): made on first use, kept in a file of its own outside book, backup,
exports and explorer, readable by its owner alone.

A fingerprint is the first 32 hex digits of the SHA-256 of the public key, in eight groups of four: what a
customer compares with what the maker told by another way.
"""

from __future__ import annotations

import hashlib
import os
import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from woodref.errors import echo
from woodref.provenance.canonical import canonical
from woodref.provenance.faults import BadKey

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

FILE = "maker.key"
#: ending of a key that is made and not yet said in the book, and of one that was replaced
NEXT, RETIRED = ".next", ".retired"


def key_path(given: str | None = None) -> Path:
    """Where the private key lies: as given, WOODREF_KEY, or maker.key in the user's settings folder."""
    chosen = given or os.environ.get("WOODREF_KEY")
    if chosen:
        return Path(chosen).expanduser()
    from platformdirs import user_config_dir

    return Path(user_config_dir("woodref", appauthor=False)) / FILE


def fingerprint(public_key: str) -> str:
    """'3b6a 27bc ceb6 a42d 62a3 a8d0 2a6f 0d73' of a public key in hex."""
    digits = hashlib.sha256(bytes.fromhex(public_key)).hexdigest()[:32]
    return " ".join(digits[at : at + 4] for at in range(0, 32, 4))


def fingerprint_of(text: str) -> str:
    """A fingerprint as a person types it, spaces, colons, capitals or none; BadKey for anything else."""
    digits = re.sub(r"[\s:\-]", "", text).lower()
    if not re.fullmatch(r"[0-9a-f]{32}", digits):
        raise BadKey(f"{echo(text)} is no fingerprint", expected="32 digits 0-9 a-f, eight groups of four")
    return " ".join(digits[at : at + 4] for at in range(0, 32, 4))


def message(purpose: str, told: Any) -> bytes:
    """What is signed: the purpose, so that a signature for one thing is none for another, then canonical
    JSON."""
    return f"woodref {purpose}\n".encode() + canonical(told)


def holds(public_key: str, signed: bytes, signature: str) -> bool:
    """Whether a signature (hex) of those bytes was made with the private half of a public key (hex)."""
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    try:
        Ed25519PublicKey.from_public_bytes(bytes.fromhex(public_key)).verify(bytes.fromhex(signature), signed)
    except (InvalidSignature, ValueError):
        return False
    return True


@dataclass(frozen=True)
class Signer:
    """A private key at hand. public_key: 64 hex digits."""

    private: Ed25519PrivateKey
    public_key: str

    @property
    def fingerprint(self) -> str:
        return fingerprint(self.public_key)

    def sign(self, purpose: str, told: Any) -> str:
        """Signature in hex, 128 digits."""
        return self.private.sign(message(purpose, told)).hex()


def read_signer(path: Path) -> Signer | None:
    """The key in a file; None when there is no such file; BadKey when it is no key, or others may read it."""
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    try:
        body = path.read_bytes()
        open_to = path.stat().st_mode & 0o077
    except FileNotFoundError:
        return None
    except OSError as wrong:
        raise BadKey(f"the signing key at {path} cannot be read ({wrong.strerror})") from None
    if os.name == "posix" and open_to:
        raise BadKey(f"others may read the signing key at {path}", next=f"chmod 600 {path}")
    try:
        private = load_pem_private_key(body, None)
    except (ValueError, TypeError):
        raise BadKey(
            f"{path} holds no signing key", expected="an Ed25519 key in PEM, not locked",
            next="Put the right file there, or: woodref book key replace --lost",
        ) from None  # fmt: skip
    if not isinstance(private, Ed25519PrivateKey):
        raise BadKey(f"{path} holds a key of another kind", expected="an Ed25519 key in PEM")
    return _signer(private)


def new_signer(path: Path) -> Signer:
    """A fresh key, written to a file that only its owner reads. BadKey when the file is there already."""
    from cryptography.hazmat.primitives import serialization as form
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    private = Ed25519PrivateKey.generate()
    body = private.private_bytes(form.Encoding.PEM, form.PrivateFormat.PKCS8, form.NoEncryption())
    write_secret(path, body)
    return _signer(private)


def locked(signer: Signer, passphrase: str) -> bytes:
    """The private key as PEM under a passphrase, for a copy that is laid away."""
    from cryptography.hazmat.primitives import serialization as form

    if len(passphrase) < 8:
        raise BadKey("a passphrase of fewer than 8 letters is soon guessed", expected="8 or more")
    lock = form.BestAvailableEncryption(passphrase.encode())
    return signer.private.private_bytes(form.Encoding.PEM, form.PrivateFormat.PKCS8, lock)


def public_pem(public_key: str) -> bytes:
    """A public key as PEM, as other programs read it."""
    from cryptography.hazmat.primitives import serialization as form
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    key = Ed25519PublicKey.from_public_bytes(bytes.fromhex(public_key))
    return key.public_bytes(form.Encoding.PEM, form.PublicFormat.SubjectPublicKeyInfo)


def write_secret(path: Path, body: bytes) -> None:
    """A new file that only its owner reads, whole or not at all on disk."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        raise BadKey(
            f"{path} is there already", next="Nothing is written over a key: name another file."
        ) from None
    except OSError as wrong:
        raise BadKey(f"{path} cannot be written ({wrong.strerror})") from None
    with os.fdopen(handle, "wb") as file:
        file.write(body)
        file.flush()
        os.fsync(file.fileno())


def _signer(private: Ed25519PrivateKey) -> Signer:
    from cryptography.hazmat.primitives import serialization as form

    raw = private.public_key().public_bytes(form.Encoding.Raw, form.PublicFormat.Raw)
    return Signer(private, raw.hex())
