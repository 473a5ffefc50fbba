"""Tell one process from another, also after its number has been given to a new one."""

from pathlib import Path

import psutil

BOOT = Path("/proc/sys/kernel/random/boot_id")


def birth(pid: int) -> str | None:
    """Give what marks a living process for good, unlike its number, which is used again; None when there is none.

    A process that ended and was not yet waited for is none.
    """
    try:
        if psutil.Process(pid).status() == psutil.STATUS_ZOMBIE:
            return None
        return _start_tick(pid) if BOOT.exists() else str(psutil.Process(pid).create_time())
    except (psutil.NoSuchProcess, FileNotFoundError, ProcessLookupError):
        return None


def _start_tick(pid: int) -> str:
    """Read boot and start tick from Linux's /proc: unlike a time of day they do not move when the clock is set."""
    # proc_pid_stat(5): the name stands in parentheses and may hold anything; starttime is the 20th field after it
    after_name = Path(f"/proc/{pid}/stat").read_text(encoding="utf-8").rpartition(")")[2]
    return f"{BOOT.read_text(encoding='ascii').strip()}:{after_name.split()[19]}"


def works_in(folder: Path) -> bool:
    """Say whether any process that this user may see has the folder as its working directory."""
    target = str(folder.resolve())
    return any(process.info["cwd"] == target for process in psutil.process_iter(["cwd"]))
