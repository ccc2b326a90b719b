"""A command for the tests of the entry: greets as often as it is told."""

import argparse


def declare(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("name")
    parser.add_argument("--times", type=int, default=1)


def run(arguments: argparse.Namespace) -> int:
    print(f"good day, {arguments.name}! " * arguments.times)
    return int(arguments.times)
