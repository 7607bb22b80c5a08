"""Become another program, one that ends when the process that started it ends. Run as a plain file.

Arguments: the starter's process id, the signal to end by, how much nicer to be, then the program and its
arguments. Linux only; elsewhere the program just runs. The signal comes when the *thread* that started this
process ends: start it from one that lasts.
"""

import ctypes
import os
import sys

_SET_PARENT_DEATH_SIGNAL = 1  # PR_SET_PDEATHSIG in <linux/prctl.h>


def become(starter: int, signal_number: int, niceness: int, program: list[str]) -> None:
    """Replace this process by the program, in a group of its own.

    Ctrl-C at a terminal then reaches only the starter, which stops the others in order.
    """
    os.setpgid(0, 0)
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(_SET_PARENT_DEATH_SIGNAL, signal_number, 0, 0, 0)
        if os.getppid() != starter:  # it ended before we could ask for the signal
            sys.exit(1)
    if niceness:
        os.nice(niceness)
    os.execv(program[0], program)  # noqa: S606 - a fixed program, no shell


if __name__ == "__main__":
    become(int(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]), sys.argv[4:])
