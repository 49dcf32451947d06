"""Child process that decodes sound: ``python -m wayside.sound.decode_child FILE``.

It keeps a crash of a media library on a hostile file away from the user's session. Events
go to standard output as in `wayside.sound.wire`.
"""

from __future__ import annotations

import sys
from pathlib import Path

from wayside.decoding.child import limit_memory
from wayside.errors import MediaError
from wayside.sound import wire

MEMORY_LIMIT_BYTES = 2 * 2**30


def main() -> int:
    """Decode the file named on the command line."""
    limit_memory(MEMORY_LIMIT_BYTES)
    path = Path(sys.argv[1])
    out = sys.stdout.buffer
    try:
        from wayside.sound.any_reader import read_any

        for event in read_any(path):
            wire.send(out, event)
    except MediaError as error:
        wire.send_error(out, str(error))
    except BrokenPipeError:
        return 1
    except MemoryError:
        wire.send_error(
            out, f"“{path.name}” asks for more memory than a recording needs; it is damaged: copy "
            f"it again.",
        )  # fmt: skip
    return 0


if __name__ == "__main__":
    sys.exit(main())
