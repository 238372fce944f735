"""Secrets of links: long, new each time, and stored as what cannot be turned back."""

import base64

from core.calc.secrets import hash_of, new_secret


def test_a_secret_holds_32_bytes_in_letters_that_a_url_may_hold():
    secret = new_secret()

    assert len(base64.urlsafe_b64decode(secret + "=" * (-len(secret) % 4))) == 32
    assert set(secret) <= set("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_")


def test_no_two_secrets_are_alike():
    assert len({new_secret() for _ in range(200)}) == 200


def test_what_is_stored_is_the_sha_256_of_the_secret():
    """FIPS 180-2, appendix B.1: the digest of "abc" (from memory)."""
    assert hash_of("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
