"""Seals the technician's signing key with a key of the phone's own that never leaves it.

The phone's key lies in Android's key store, which lets nobody read it, this app neither, and goes
with the phone: on another one, or after a restore from a backup, what was sealed with it
stays shut. Off Android there is no such key, and :func:`of_this_phone` returns None.

References: Android's reference of ``KeyGenParameterSpec`` (a key store's key is used in place,
and makes the IV itself) and "Android Keystore system"; NIST SP 800-38D, 2007, 5.2.1.1 and 8.2.2
(AES-GCM: a random IV of 96 bits, a tag of 128).
"""

from typing import Any

from logic.errors import RecordError
from mobile.ui.java import android, refused_as, there
from mobile.ui.toolkit import on_android

ALIAS = "voltwalk-device-key"

_STORE = "AndroidKeyStore"
_ENCRYPT, _DECRYPT = 1, 2  # of KeyProperties' purposes, and of Cipher's modes
_IV, _TAG = 12, 16  # bytes
_INVALIDATED = "android.security.keystore.KeyPermanentlyInvalidatedException"
_FORMAT = b"\x01"  # IV, then AES-256-GCM's output with its tag

_NOT_SEALED = (
    "The phone's key store does not take this phone's signing key, so this was not saved. "
    "Restart the phone, then try again."
)
_NOT_OPENED = (
    "The phone's key store does not open this phone's signing key now, so this was not saved. "
    "Restart the phone, then try again."
)
# Said within the notice of the new key that is made (logic/records/keys.py).
_GONE = "it was sealed on another phone, or the app's data were deleted since"


class PhoneKey:
    """Wraps secrets with the phone's own key, which is made with the first of them."""

    def wrap(self, secret: bytes) -> bytes:
        """Return the secret sealed, fit to be stored.

        Raises
        ------
        AppError
            The phone's key store refuses.
        """
        with refused_as(_NOT_SEALED):
            cipher = _cipher()
            cipher.init(_ENCRYPT, _key() or _new_key())
            sealed = _bytes(cipher.doFinal(secret))
            return _FORMAT + _bytes(cipher.getIV()) + sealed

    def unwrap(self, wrapped: bytes) -> bytes:
        """Return the secret that was sealed on this phone.

        Raises
        ------
        RecordError
            It was sealed on another phone, or its key has gone: it never opens here.
        AppError
            The key store refuses now; it may open later.
        """
        if wrapped[:1] != _FORMAT or len(wrapped) < len(_FORMAT) + _IV + _TAG:
            raise RecordError(_GONE)
        iv, sealed = wrapped[1 : 1 + _IV], wrapped[1 + _IV :]
        with refused_as(_NOT_OPENED):
            key = _key()
            if key is None:
                raise RecordError(_GONE)
            cipher = _cipher()
            parameters = android()[1]("javax.crypto.spec.GCMParameterSpec")(8 * _TAG, iv)
            cipher.init(_DECRYPT, key, parameters)
            return _opened(cipher, sealed)


def of_this_phone() -> PhoneKey | None:
    """Return what seals with this phone's own key; None where there is no such key."""
    return PhoneKey() if on_android() else None


def _opened(cipher: Any, sealed: bytes) -> bytes:
    from jnius import JavaException

    try:
        return _bytes(cipher.doFinal(sealed))
    except JavaException as error:
        if error.classname in ("javax.crypto.AEADBadTagException", _INVALIDATED):
            raise RecordError(_GONE) from error
        raise


def _cipher() -> Any:
    return android()[1]("javax.crypto.Cipher").getInstance("AES/GCM/NoPadding")


def _key() -> Any | None:
    """Return the phone's key, None where there is none under this alias."""
    store = android()[1]("java.security.KeyStore").getInstance(_STORE)
    store.load(None)
    return store.getKey(ALIAS, None)


def _new_key() -> Any:
    _, jclass = android()
    builder = jclass("android.security.keystore.KeyGenParameterSpec$Builder")
    spec = builder(ALIAS, _ENCRYPT | _DECRYPT)
    spec = spec.setBlockModes("GCM").setEncryptionPaddings("NoPadding").setKeySize(256).build()
    maker = jclass("javax.crypto.KeyGenerator").getInstance("AES", _STORE)
    maker.init(spec)
    maker.generateKey()
    # pyjnius finds no overload of Cipher.init for a SecretKey; the store names it a Key.
    return there(_key())


def _bytes(array: Any) -> bytes:
    """Return a Java ``byte[]`` as bytes; it comes as signed numbers or as bytes of its own."""
    return bytes(number & 0xFF for number in array)
