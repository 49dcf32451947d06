"""One module a command, loaded only when that command runs.

Each module has ``add_arguments(parser)`` and ``run(args) -> int`` (the exit code), and keeps
heavy imports inside ``run``.
"""

COMMANDS: dict[str, str] = {
    "demo": "run the whole job on the bundled sample",
    "predict": "work out the expected pitches from a set-up file",
    "measure": "measure the pass-by in a recording or film",
    "compare": "set prediction and measurement side by side",
    "batch": "measure every recording in a folder, one row each",
    "report": "write a report, or a worksheet for students, as a web page or PDF",
    "data": "write the numbers behind the plots as tables, and the figures",
    "rider": "hear the recording as the rider did, and test for constant speed",
    "frames": "list the true time of every frame of a film",
    "crossings": "find when something crosses marker lines in a film, and its speed",
    "plan": "plan a demonstration that will work",
    "open": "open the window",
    "sample": "render a pass-by from physics, with its truth beside it",
}
