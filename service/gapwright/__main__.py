"""The command line: serve the API, check and publish files, print the contract."""

from __future__ import annotations

import argparse
import sys
from datetime import UTC, datetime
from pathlib import Path

from gapwright.places import shipped
from gapwright.pricebooks.shelf import price_folder
from gapwright.publishing.publish import judge_file, publish, withdraw
from gapwright.rulesets.ledger import FILE
from gapwright.rulesets.reader import RuleFileError
from gapwright.version import ENGINE

_WHERE = "folder of published rule sets (default: the folder that contains the file)"


def main(arguments: list[str] | None = None) -> int:
    """Run one command and return its exit status: 0 success, 1 errors found, 2 wrong usage."""
    options = _parser().parse_args(arguments)
    try:
        status: int = options.run(options) or 0
    except RuleFileError as error:
        print(error, file=sys.stderr)
        status = 1
    except ModuleNotFoundError as error:
        if (error.name or "").startswith("gapwright"):
            raise
        remedy = "Install gapwright[server]."
        print(f"gapwright: {error.name} is not installed. {remedy}", file=sys.stderr)
        status = 2
    return status


# checking and publishing need only the package itself; the other commands import the server


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="gapwright",
        description="Size, count, and price wire-mesh barriers around rooftop solar arrays.",
    )
    parser.add_argument("--version", action="version", version=f"gapwright {ENGINE}")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")

    command = commands.add_parser("serve", help="serve the HTTP API")
    command.add_argument(
        "--host", default="127.0.0.1", help="address to listen on (default: %(default)s)"
    )
    command.add_argument(
        "--port",
        type=_port,
        default=8642,
        help="port, or 0 for any free port (default: %(default)s)",
    )
    command.add_argument(
        "--rules",
        type=Path,
        metavar="DIR",
        default=shipped("rules"),
        help="folder of rule sets (default: those of gapwright)",
    )
    command.add_argument(
        "--price-book",
        metavar="ID",
        default="demo",
        help="price book for quotes (default: %(default)s)",
    )
    command.set_defaults(run=_serve)

    command = commands.add_parser(
        "check", help="check rule files and price books, and list every error with its line"
    )
    command.add_argument("files", nargs="+", type=Path, metavar="FILE")
    command.add_argument("--rules", type=Path, metavar="DIR", help=_WHERE)
    command.set_defaults(run=_check)

    command = commands.add_parser(
        "publish", help="check a rule file or price book and record it in the ledger"
    )
    command.add_argument("file", type=Path, metavar="FILE")
    command.set_defaults(run=_publish)

    command = commands.add_parser("withdraw", help="withdraw a published version")
    command.add_argument(
        "name",
        metavar="ID@VERSION",
        help="version to withdraw; for a price book, prices/ID@VERSION",
    )
    command.add_argument("--rules", type=Path, metavar="DIR", default=shipped("rules"))
    command.set_defaults(run=_withdraw)

    command = commands.add_parser("openapi", help="print the OpenAPI document")
    command.set_defaults(run=_openapi)

    command = commands.add_parser(
        "demo", help="write the drawings and the crew sheet of a demo job"
    )
    command.add_argument("folder", type=Path, metavar="DIR")
    command.set_defaults(run=_demo)

    command = commands.add_parser("schema", help="print the JSON Schema for rule files")
    command.add_argument(
        "--prices", action="store_true", help="print the JSON Schema for price books instead"
    )
    command.set_defaults(run=_schema)
    return parser


def _port(text: str) -> int:
    if not text.isdigit() or int(text) > 65535:
        raise argparse.ArgumentTypeError(f"expected a port from 0 to 65535; got {text}")
    return int(text)


def _serve(options: argparse.Namespace) -> int:
    if not options.rules.is_dir():
        print(
            f"gapwright: {options.rules} is not a folder. Change --rules.",
            file=sys.stderr,
        )
        return 2
    from gapwright.serve import serve

    return serve(options.host, options.port, options.rules, options.price_book)


def _check(options: argparse.Namespace) -> int:
    status = 0
    for path in options.files:
        around = path.resolve().parent.parent  # the folder of rule sets, if it has a ledger
        has_ledger = (around / FILE).is_file()
        folder = options.rules or (around if has_ledger else shipped("rules"))
        prices = around if has_ledger and not options.rules else price_folder(folder)
        try:
            rules = judge_file(path, folder, prices)
            print(f"{path}: {rules.name} is valid, {rules.digest}")
        except RuleFileError as error:
            print(error, file=sys.stderr)
            status = 1
    return status


def _publish(options: argparse.Namespace) -> None:
    print(publish(options.file, options.file.resolve().parent.parent).line())


def _withdraw(options: argparse.Namespace) -> None:
    withdraw(options.name, options.rules, datetime.now(UTC).date())
    print(f"{options.name} was withdrawn")


def _openapi(_: argparse.Namespace) -> None:
    from gapwright.api.app import create_litestar
    from gapwright.api.system import published_openapi

    sys.stdout.buffer.write(published_openapi(create_litestar()))


def _demo(options: argparse.Namespace) -> None:
    from gapwright.api.demo import write_demo

    for path in write_demo(options.folder):
        print(path)


def _schema(options: argparse.Namespace) -> None:
    from gapwright.api.system import published_price_schema, published_schema

    sys.stdout.buffer.write(published_price_schema() if options.prices else published_schema())


if __name__ == "__main__":
    sys.exit(main())
