"""What every front end calls: one module for each command, named as it.

`options` is all that a run can be told, `draft` a plate before anything is written, `pack` the
folder that is. Each command has `run`, its options type where it needs one, and a result that
prints itself as plain types with `as_json`; `palette` and `stock` have a function for each of
their verbs.

    from img2plate.pipeline import make

    pack = make.run(Path("gull.png"), make.MakeOptions())
"""
