"""The command line: serve, check rule files, print the contract, make the demo's pictures."""

from __future__ import annotations

import argparse
import gc
import sys
from pathlib import Path

from service.places import shipped
from service.rulesets.reader import RuleFileError
from service.version import ENGINE

_WHERE = "folder of rule sets that overlays are based on; left out: the one round the file"


def main(arguments: list[str] | None = None) -> int:
    """Run one command and return its exit status: 0 done, 1 faults found, 2 wrong usage."""
    told = _parser().parse_args(arguments)
    status: int = told.run(told)
    return status


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="gapwright",
        description="Rules for wire-mesh barriers round rooftop solar arrays, over HTTP.",
    )
    parser.add_argument("--version", action="version", version=f"gapwright {ENGINE}")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")

    serve = commands.add_parser("serve", help="serve the HTTP API")
    serve.add_argument("--host", default="127.0.0.1", help="address to listen on (%(default)s)")
    serve.add_argument("--port", type=_port, default=8642, help="port; 0 picks one (%(default)s)")
    serve.add_argument(
        "--rules", type=Path, metavar="DIR", default=shipped("rules"), help="folder of rule sets"
    )
    serve.add_argument(
        "--price-book", metavar="ID", default="demo", help="price book of quotes (%(default)s)"
    )
    serve.set_defaults(run=_serve)

    check = commands.add_parser(
        "check", help="judge rule files and price books; tells every fault with its line"
    )
    check.add_argument("files", nargs="+", type=Path, metavar="FILE")
    check.add_argument("--rules", type=Path, metavar="DIR", help=_WHERE)
    check.set_defaults(run=_check)

    publish = commands.add_parser(
        "publish", help="judge a rule file or a price book and record it in the ledger"
    )
    publish.add_argument("file", type=Path, metavar="FILE")
    publish.set_defaults(run=_publish)

    withdraw = commands.add_parser("withdraw", help="record that a version was withdrawn")
    withdraw.add_argument("name", metavar="ID@VERSION", help="a price book as prices/ID@VERSION")
    withdraw.add_argument("--rules", type=Path, metavar="DIR", default=shipped("rules"))
    withdraw.set_defaults(run=_withdraw)

    openapi = commands.add_parser("openapi", help="print the OpenAPI document")
    openapi.set_defaults(run=_openapi)

    demo = commands.add_parser(
        "demo", help="write the demo job's pictures: drawings, and the crew sheet's pages"
    )
    demo.add_argument("folder", type=Path, metavar="DIR")
    demo.set_defaults(run=_demo)

    schema = commands.add_parser("schema", help="print the JSON Schema of rule files")
    schema.add_argument("--prices", action="store_true", help="that of price books instead")
    schema.set_defaults(run=_schema)
    return parser


def _port(text: str) -> int:
    if not text.isdigit() or int(text) > 65535:
        raise argparse.ArgumentTypeError(f"{text} is no port; write a number from 0 to 65535")
    return int(text)


def _serve(told: argparse.Namespace) -> int:
    if not told.rules.is_dir():
        print(f"gapwright: {told.rules} is no folder; name one with --rules.", file=sys.stderr)
        return 2
    gc.disable()  # all that is read in stays; `serve` turns it on again
    from service.serve import serve

    return serve(told.host, told.port, told.rules, told.price_book)


def _check(told: argparse.Namespace) -> int:
    from service.pricebooks.shelf import price_folder
    from service.publishing.publish import judge_file

    faulty = False
    for path in told.files:
        around = _around(path)
        folder = told.rules or around or shipped("rules")
        prices = around or price_folder(shipped("rules"))
        if told.rules:
            prices = price_folder(told.rules)
        try:
            rules = judge_file(path, folder, prices)
        except RuleFileError as error:
            faulty = True
            print(error, file=sys.stderr)
        else:
            print(f"{path}: {rules.name} is sound, {rules.digest}")
    return 1 if faulty else 0


def _around(path: Path) -> Path | None:
    """Return the folder with a ledger that a file stands in, None where it stands in none."""
    from service.rulesets.ledger import FILE

    around = path.resolve().parent.parent
    return around if (around / FILE).is_file() else None


def _publish(told: argparse.Namespace) -> int:
    from service.publishing.publish import publish

    try:
        record = publish(told.file, told.file.resolve().parent.parent)
    except RuleFileError as error:
        print(error, file=sys.stderr)
        return 1
    print(record.line())
    return 0


def _withdraw(told: argparse.Namespace) -> int:
    from datetime import UTC, datetime

    from service.publishing.publish import withdraw

    try:
        withdraw(told.name, told.rules, datetime.now(UTC).date())
    except RuleFileError as error:
        print(error, file=sys.stderr)
        return 1
    print(f"{told.name} is withdrawn")
    return 0


def _openapi(told: argparse.Namespace) -> int:
    del told
    from service.api.system import published_contract

    sys.stdout.buffer.write(published_contract())
    return 0


def _demo(told: argparse.Namespace) -> int:
    from service.api.demo import write_demo

    for path in write_demo(told.folder):
        print(path)
    return 0


def _schema(told: argparse.Namespace) -> int:
    from service.api.system import published_price_schema, published_schema

    sys.stdout.buffer.write(published_price_schema() if told.prices else published_schema())
    return 0


if __name__ == "__main__":
    sys.exit(main())
