"""Sound devices: named, listed, chosen, and when one counts as gone."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from typing import Any

from guide.core.errors import Unavailable
from guide.edge.voice.audio import hushed, sound_library

LOST_AFTER_S = 1.0  # of waiting for nothing: now the system is asked whether the device is still there
ASK_AGAIN_S = 0.3  # it must be missing twice: a busy sound server fails to answer now and then
STALLED_AFTER_S = 5.0  # there and mute: opened anew. One that sleeps takes up to two seconds to begin
_NO_CARD = "no sound card was found"
_MADE_UP = "Null"
_NO_MICROPHONE = "no microphone was found"


@dataclass(frozen=True, slots=True)
class Device:
    """One device by the name the system gives it. `handle` is the library's own, `identity` what is in it."""

    name: str
    handle: Any = None
    identity: bytes = b""
    default: bool = False  # what the system takes where nothing is chosen

    @property
    def monitor(self) -> bool:
        """Whether it hears what a loudspeaker plays; sound servers list those among the microphones."""
        return self.identity.partition(b"\0")[0].endswith(b".monitor")


def microphones() -> tuple[Device, ...]:
    """Return what can be listened with. Raises Unavailable where there is nothing."""
    found = tuple(d for d in listed("get_captures") if not d.monitor)
    if not found:
        raise Unavailable(_NO_MICROPHONE)
    return found


def loudspeakers() -> tuple[Device, ...]:
    """Return what can be played on. Raises Unavailable where there is no card."""
    return listed("get_playbacks")


def listed(which: str) -> tuple[Device, ...]:
    """Return all `get_captures` or `get_playbacks` tells of. Raises Unavailable where that is nothing."""
    miniaudio = sound_library()
    with hushed():
        try:
            system = miniaudio.Devices()
            found = getattr(system, which)()
            usual = _default(miniaudio, system) if which == "get_captures" else b""
        except miniaudio.MiniaudioError as error:
            raise Unavailable(_NO_CARD) from error
    # Where the machine has no sound system at all, the library makes up devices that hear and say nothing.
    if not found or system.backend == _MADE_UP:
        raise Unavailable(_NO_CARD)
    identities = [bytes(miniaudio.ffi.buffer(d["id"])) for d in found]
    return tuple(Device(d["name"], d["id"], i, i == usual) for d, i in zip(found, identities, strict=True))


def _default(miniaudio: Any, system: Any) -> bytes:
    """Return the identity of the microphone the system takes by itself, empty where it does not tell.

    The C library tells; its binding leaves it out of what it lists.
    """
    context = getattr(system, "_context", None)
    if context is None:
        return b""
    infos, count = miniaudio.ffi.new("ma_device_info**"), miniaudio.ffi.new("ma_uint32*")
    nothing = miniaudio.ffi.NULL
    if miniaudio.lib.ma_context_get_devices(context, nothing, nothing, infos, count) != miniaudio.lib.MA_SUCCESS:
        return b""
    usual = (infos[0][i].id for i in range(count[0]) if infos[0][i].isDefault)
    return next((bytes(miniaudio.ffi.buffer(miniaudio.ffi.addressof(i))) for i in usual), b"")


def heard_by(name: str) -> str:
    """Return which microphone sound comes from: the one called `name` while it is there, else the system's own choice,
    for sound servers move a stream whose device is unplugged. Empty where neither is known."""
    try:
        there = listed("get_captures")
    except Unavailable:
        return ""
    named = (d.name for d in there if name and d.name == name)
    return next(named, next((d.name for d in there if d.default), ""))


def chosen(name: str, among: tuple[Device, ...]) -> Device:
    """Return the device whose name holds `name`, whatever the case; the first for an empty one.

    Raises Unavailable, naming what there is.
    """
    for device in among:
        if name.casefold() in device.name.casefold():
            return device
    raise Unavailable(f"no sound device is called {name!r}; there is: {'; '.join(names(among))}")


class State(Enum):
    """What is known of a device that nothing comes of."""

    WAITED_FOR = "waited for"
    GONE = "gone"
    MUTE = "mute"  # the system has it


class Patience:
    """How long nothing has come of a device although it was waited for, and what follows from that.

    On a busy machine, and while a recogniser decodes, neither what waits nor what brings the sound gets to run. Such
    time says nothing of the device: a wait counts for no more than it was meant to take.
    """

    def __init__(self) -> None:
        self.came()

    def came(self) -> None:
        """Something came."""
        self._silent_s, self._ask_at_s, self._missing = 0.0, LOST_AFTER_S, 0

    def waited(self, meant_s: float, took_s: float, there: Callable[[], bool]) -> State:
        """Nothing came in a wait that was meant to take `meant_s` and took `took_s`; `there` asks the system."""
        self._silent_s += min(meant_s, took_s)
        if self._silent_s >= STALLED_AFTER_S:
            return State.MUTE
        if self._silent_s >= self._ask_at_s:
            self._ask_at_s = self._silent_s + ASK_AGAIN_S
            self._missing = 0 if there() else self._missing + 1
        return State.GONE if self._missing > 1 else State.WAITED_FOR


def names(devices: tuple[Device, ...]) -> tuple[str, ...]:
    """Return the names to choose from, each once."""
    return tuple(dict.fromkeys(d.name for d in devices if not d.monitor))


def lists(which: str, wanted: frozenset[str]) -> bool:
    """Tell whether every device of `wanted` is still listed; for `which` see `listed`."""
    try:
        return wanted <= {d.name for d in listed(which)}
    except Unavailable:
        return False
