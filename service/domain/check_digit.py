"""Check digits and check characters of GS1 (General Specifications, section 7.9)."""

from itertools import cycle
from typing import Final

CSET_82: Final = "!\"%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz"
CSET_32: Final = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"
PRIMES: Final = (2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53, 59, 61, 67, 71, 73, 79, 83)
MODULUS: Final = 1021


def is_checked(digits: str) -> bool:
    """Say whether the last of the digits checks the others: weights 1, 3, 1, 3 ... from the right, a sum of tens."""
    if not (digits.isascii() and digits.isdecimal()):
        return False
    return sum(int(digit) * weight for digit, weight in zip(reversed(digits), cycle((1, 3)), strict=False)) % 10 == 0


def is_pair_checked(text: str) -> bool:
    """Say whether the last two characters check the others: primes from the right, modulo 1021, in base 32."""
    body, pair = text[:-2], text[-2:]
    if not body or len(body) > len(PRIMES) or not set(text) <= set(CSET_82):
        return False
    total = sum(CSET_82.index(mark) * prime for mark, prime in zip(reversed(body), PRIMES, strict=False)) % MODULUS
    return pair == CSET_32[total >> 5] + CSET_32[total & 31]
