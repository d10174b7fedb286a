"""A drive that refuses to lock files, as a network home may be: for tests, on Linux.

The kernel is told (seccomp, prctl(2)) to refuse every lock to this process with an error number,
whatever the drive. So the answer that SQLite gets is the real one of a drive without locks; the
drive itself is an ordinary one, and no network stands behind it. It cannot be taken back: call it
in a process of its own.
"""

import ctypes
import platform
import struct

FCNTL = {"x86_64": 72, "aarch64": 25}
"""The number of the system call. (the kernel's syscall tables)"""

LOCKING = (6, 7, 37, 38)
"""F_SETLK, F_SETLKW, F_OFD_SETLK, F_OFD_SETLKW. (include/uapi/asm-generic/fcntl.h)"""

_LOAD, _EQUAL, _RETURN = 0x20, 0x15, 0x06
_NUMBER, _SECOND_ARGUMENT = 0, 24
"""Where struct seccomp_data has the call's number and its second argument. (seccomp(2))"""

_ALLOW, _ERRNO = 0x7FFF0000, 0x00050000
_NO_NEW_PRIVILEGES, _SET_SECCOMP, _FILTER = 38, 22, 2


class _Program(ctypes.Structure):
    _fields_ = (("length", ctypes.c_ushort), ("filter", ctypes.c_void_p))


def possible() -> bool:
    """Whether this machine can do it."""
    return platform.system() == "Linux" and platform.machine() in FCNTL


def refuse_locks(error: int) -> None:
    """From now on every lock that this process asks for fails with `error`, for good."""
    refuse = len(LOCKING)
    steps = [
        (_LOAD, 0, 0, _NUMBER),
        (_EQUAL, 0, refuse + 1, FCNTL[platform.machine()]),  # any other call: to what allows
        (_LOAD, 0, 0, _SECOND_ARGUMENT),
        *((_EQUAL, refuse - place, 0, call) for place, call in enumerate(LOCKING)),
        (_RETURN, 0, 0, _ALLOW),
        (_RETURN, 0, 0, _ERRNO | error),
    ]
    code = ctypes.create_string_buffer(b"".join(struct.pack("HBBI", *step) for step in steps))
    program = _Program(len(steps), ctypes.addressof(code))
    library = ctypes.CDLL(None, use_errno=True)
    for call in (
        (_NO_NEW_PRIVILEGES, 1, 0, 0, 0),
        (_SET_SECCOMP, _FILTER, ctypes.byref(program), 0, 0),
    ):
        if library.prctl(*call):
            raise OSError(ctypes.get_errno(), "the kernel takes no filter")
