"""Books of many passages on a Dask cluster.

    pip install 'passage-studies[cluster]'
    python examples/cluster_books.py examples -o books                      # two workers on this machine
    python examples/cluster_books.py examples -o books --scheduler HOST:8786 # a cluster that is running

Each book is a pure function of its files, so it may be made anywhere and, if a worker is lost, made again: the bytes
are the same. Set SOURCE_DATE_EPOCH in the workers' environment, too, if the same book is to be the same on another day.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

from dask.distributed import Client, as_completed

from engrave.batch import Order, Printed, Source, print_book


def books(client: Client, order: Order, sources: Sequence[Source]) -> Iterator[Printed]:
    """The books of `sources`, each as soon as it is there. A book whose worker is lost is made by another."""
    wanted = [client.submit(print_book, order, source, key=f"book-{n}", retries=2) for n, source in enumerate(sources)]
    for done in as_completed(wanted):
        yield done.result()
        done.release()


def main() -> int:
    """Print the books of a folder's passages; the number of passages that have none."""
    asked = argparse.ArgumentParser(description=main.__doc__)
    asked.add_argument("folder", type=Path)
    asked.add_argument("-o", "--output", type=Path, default=Path("books"))
    asked.add_argument("--scheduler", help="address of a running cluster")
    asked.add_argument("--plan", type=Path, help="plan to follow")
    words = asked.parse_args()
    order = Order(plan=words.plan.read_text(encoding="utf-8") if words.plan else None)
    files = sorted(file for ending in ("*.musicxml", "*.mxl", "*.abc", "*.tab") for file in words.folder.glob(ending))
    sources = [Source(name=file.name, data=file.read_bytes()) for file in files]
    words.output.mkdir(parents=True, exist_ok=True)
    failed = 0
    with Client(
        words.scheduler or None, **({} if words.scheduler else {"n_workers": 2, "threads_per_worker": 1})
    ) as client:
        for printed in books(client, order, sources):
            if printed.faults:
                failed += 1
                print(*(f"{printed.name}: {fault}" for fault in printed.faults), sep="\n", file=sys.stderr)
            else:
                (words.output / f"{Path(printed.name).stem}-book.pdf").write_bytes(printed.pdf)
                print(f"{printed.name}: {printed.variations} variations")
    return failed


if __name__ == "__main__":
    sys.exit(min(main(), 100))
