#!/usr/bin/env python3
"""usage: terminal.py THINAIR EVENT - a plan on a terminal has its profile in block characters where the
locale says UTF-8, and nothing but ASCII of its own elsewhere.

Precedence of the variables: POSIX.1-2017, Base Definitions, 8.2."""
import os
import pty
import sys

thinair, event = sys.argv[1:]


def plan(**locale):
    environment = {k: v for k, v in os.environ.items() if k != "LANG" and not k.startswith("LC_")}
    child, terminal = pty.fork()
    if child == 0:
        os.execve(thinair, [thinair, "plan", event], {**environment, **locale})
    said = b""
    try:
        while piece := os.read(terminal, 65536):
            said += piece
    except OSError:  # how a terminal ends
        pass
    os.waitpid(child, 0)
    return said


bad = 0
for locale, wanted in (
    ({"LANG": "en_US.UTF-8"}, True),
    ({"LANG": "C.utf8"}, True),
    ({"LANG": "C", "LC_CTYPE": "C.UTF-8"}, True),
    ({"LANG": "en_US.UTF-8", "LC_ALL": "", "LC_CTYPE": ""}, True),
    ({}, False),
    ({"LC_ALL": "C", "LANG": "en_US.UTF-8"}, False),
    ({"LC_CTYPE": "POSIX", "LANG": "en_US.UTF-8"}, False),
    ({"LANG": "en_US.ISO-8859-1"}, False),
):
    said = plan(**locale)
    has = "\u2588".encode() in said and b"past limit" in said
    if has != wanted or (not wanted and not said.isascii()) or b"OVER THE LIMIT" not in said:
        print(f"{locale}: profile {has}, wanted {wanted}")
        bad = 1
sys.exit(bad)
