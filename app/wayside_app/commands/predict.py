"""``wayside predict SETUP.json``: the worked prediction."""

from __future__ import annotations

import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of this command."""
    parser.add_argument("setup", metavar="SETUP.json", help="set-up file with hand measurements")
    parser.add_argument("--json", action="store_true", help="print JSON instead of text")
    parser.add_argument("--latex", action="store_true", help="print the steps as LaTeX only")
    parser.add_argument(
        "--budget", action="store_true", help="show the full uncertainty budget of each result"
    )
    parser.add_argument(
        "--sample", action="store_true", help="sample the inputs beside linear propagation"
    )
    parser.add_argument(
        "--methods", action="store_true", help="show what shortcuts and early rounding cost"
    )


def run(args: argparse.Namespace) -> int:
    """Print the prediction and return the exit code."""
    from wayside.hand.predict import predict
    from wayside.hand.setup_file import read_setup

    prediction = predict(read_setup(args.setup))
    if args.latex:
        print("\n\n".join(s.latex for s in (*prediction.conversions, *prediction.steps)))
        return 0

    from wayside.hand.methods import compare_methods
    from wayside.hand.monte_carlo import monte_carlo

    sampled = monte_carlo(prediction) if args.sample else None
    methods = compare_methods(prediction) if args.methods else None
    if args.json:
        import json

        from wayside.hand.prediction_json import (
            methods_as_json,
            monte_carlo_as_json,
            prediction_as_json,
        )

        values = prediction_as_json(prediction)
        if sampled:
            values["monte_carlo"] = monte_carlo_as_json(sampled)
        if methods:
            values["methods"] = methods_as_json(methods)
        print(json.dumps(values, indent=2, ensure_ascii=False))
        return 0

    from wayside.hand.budget_text import full_budget_text, sampled_text, shares_text
    from wayside.hand.methods_text import methods_text
    from wayside.hand.prediction_text import prediction_as_text

    extra = [full_budget_text(prediction) if args.budget else shares_text(prediction)]
    extra += [sampled_text(sampled)] if sampled else []
    extra += [methods_text(methods)] if methods else []
    print(prediction_as_text(prediction, extra), end="")
    return 0
