"""Checks evidence that was taken away: python3 check_evidence.py [FOLDER]. Needs Python 3.9 and nothing else.

Says which files are as they were handed over and whether the signature fits. Whether it still holds today only the
service can say: enter the check code on its page. Exits 0 when all is intact, 1 when not, 2 when it cannot be read.
"""

from __future__ import annotations

import hashlib
import json
import sys
from pathlib import Path
from typing import Any

SIGNED = ("evidence.json", "evidence.html", "evidence.css", "READ_ME.txt", "check_evidence.py")
SIGNATURE_FILE = "signature.json"
LARGEST = 4_000_000

# Ed25519 as in RFC 8032, sections 5.1.3 and 5.1.7; written for being read, not for being fast.
P = 2**255 - 19
ORDER = 2**252 + 27742317777372353535851937790883648493
D = -121665 * pow(121666, P - 2, P) % P
ROOT = pow(2, (P - 1) // 4, P)


def add(one: Any, other: Any) -> Any:
    """Add two points in extended coordinates."""
    a = (one[1] - one[0]) * (other[1] - other[0]) % P
    b = (one[1] + one[0]) * (other[1] + other[0]) % P
    c = 2 * one[3] * other[3] * D % P
    d = 2 * one[2] * other[2] % P
    e, f, g, h = b - a, d - c, d + c, b + a
    return e * f % P, g * h % P, f * g % P, e * h % P


def times(number: int, point: Any) -> Any:
    """Multiply a point."""
    found = (0, 1, 1, 0)
    while number:
        if number & 1:
            found = add(found, point)
        point = add(point, point)
        number >>= 1
    return found


def same(one: Any, other: Any) -> bool:
    """Tell whether two points are one."""
    return bool((one[0] * other[2] - other[0] * one[2]) % P == 0 and (one[1] * other[2] - other[1] * one[2]) % P == 0)


def point_from(data: bytes) -> Any | None:
    """Read a point, None where the bytes are none."""
    number = int.from_bytes(data, "little")
    sign, y = number >> 255, number & ((1 << 255) - 1)
    if y >= P:
        return None
    square = (y * y - 1) * pow(D * y * y + 1, P - 2, P) % P
    x = pow(square, (P + 3) // 8, P)
    if (x * x - square) % P:
        x = x * ROOT % P
    if (x * x - square) % P or (x == 0 and sign):
        return None
    x = P - x if x & 1 != sign else x
    return x, y, 1, x * y % P


BASE = point_from((4 * pow(5, P - 2, P) % P).to_bytes(32, "little"))


def signature_fits(public: bytes, message: bytes, signature: bytes) -> bool:
    """Tell whether an Ed25519 signature (64 bytes) of a message fits a public key (32 bytes)."""
    if len(public) != 32 or len(signature) != 64:
        return False
    key, commitment = point_from(public), point_from(signature[:32])
    scalar = int.from_bytes(signature[32:], "little")
    if key is None or commitment is None or scalar >= ORDER:
        return False
    digest = hashlib.sha512(signature[:32] + public + message).digest()
    challenge = int.from_bytes(digest, "little") % ORDER
    return same(times(scalar, BASE), add(commitment, times(challenge, key)))


def canonical(value: object) -> bytes:
    """Give the one text of a JSON value: keys sorted, no spaces."""
    return json.dumps(value, sort_keys=True, ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode()


def faults_of(files: dict[str, bytes]) -> list[str]:
    """Give one sentence for each thing that is not as it was handed over; none where all is intact."""
    try:
        seal = json.loads(files[SIGNATURE_FILE].decode("utf-8"))
        said, signature = seal["signed"], bytes.fromhex(seal["signature"])
        public, hashes = bytes.fromhex(said["public_key"]), dict(said["files"])
    except (KeyError, TypeError, ValueError, RecursionError):
        return [f"{SIGNATURE_FILE} is missing or cannot be read, so nothing can be checked."]
    faults = []
    if not signature_fits(public, canonical(said), signature):
        faults.append(f"{SIGNATURE_FILE}: the signature does not fit; what it says was changed.")
    for name in sorted({*SIGNED, *map(str, hashes)}):
        if name not in files:
            faults.append(f"{name} is missing.")
        elif hashlib.sha256(files[name]).hexdigest() != hashes.get(name):
            faults.append(f"{name} was changed.")
    faults += [f"{name} was not part of it." for name in sorted(set(files) - {*hashes, SIGNATURE_FILE})]
    return faults


def read_folder(folder: Path) -> dict[str, bytes]:
    """Read the files that lie beside each other in a folder."""
    found = {}
    for path in sorted(folder.iterdir()):
        if path.is_file() and not path.name.startswith("."):
            with path.open("rb") as file:
                found[path.name] = file.read(LARGEST)
    return found


def main(arguments: list[str]) -> int:
    """Check one folder and say what was found."""
    folder = Path(arguments[0]) if arguments else Path(__file__).resolve().parent
    try:
        files = read_folder(folder)
    except OSError as fault:
        sys.stdout.write(f"Cannot be read: {fault}\n")
        return 2
    faults = faults_of(files)
    sys.stdout.writelines(f"{said}\n" for said in faults)
    if faults:
        sys.stdout.write("Not intact. Ask the person for the file as it was handed over.\n")
        return 1
    seal = json.loads(files[SIGNATURE_FILE].decode("utf-8"))["signed"]
    sys.stdout.write(
        f"All {len(seal['files'])} files are intact and the signature fits the key {seal['public_key'][:16]}.\n"
        f"Compare that key with the one on the check page of {seal['service']}, and enter the code {seal['code']}\n"
        "there: only the service can say whether it still holds today.\n"
    )
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
