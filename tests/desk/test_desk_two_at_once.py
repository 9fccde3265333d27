"""Two people at once: no line is lost, no number is missing, nobody sees an old state."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from tests.desk.conftest import (
    DAY,
    Client,
    cells_of_line,
    client_of,
    come_in,
    in_a_row,
    log_elsewhere,
    numbers,
)

EACH = 20


def _all_logged(clients: list[Client]) -> None:
    def work(person: str, client: Client) -> None:
        for at in range(EACH):
            row = in_a_row(person=person, minutes=str(at + 1), frames="", on="wick")
            assert client.log(row)["answers"]

    with ThreadPoolExecutor(len(clients)) as pool:
        done = [pool.submit(work, *each) for each in zip(("ana", "ben"), clients, strict=True)]
        for each in done:
            each.result()
    lines = clients[0].lines[4:]
    assert numbers(lines) == list(range(5, 5 + 2 * EACH))
    for person in ("ana", "ben"):
        own = [
            int(cells_of_line(line)["minutes"])
            for line in lines
            if line.work and line.work.person == person
        ]
        assert own == list(range(1, EACH + 1))


def test_two_browsers_at_one_desk(film: Path) -> None:
    http = client_of(film)
    _all_logged([Client(come_in(http), film), Client(come_in(http), film)])


def test_two_desks_on_one_log(film: Path) -> None:
    _all_logged([Client(come_in(client_of(film)), film) for _ in range(2)])


def test_what_another_program_writes_is_seen_at_once(client: Client) -> None:
    for at in range(3):
        cells = {"finished_on": DAY, "minutes": str(at + 1), "stage": "S1"}
        logged = log_elsewhere(client.folder, "animation", "ben", character="wick", **cells)
        assert f'data-entry="{logged.number}"' in client.page()
        assert client.log(in_a_row(minutes=str(at + 100)))["answers"]
    assert numbers(client.lines) == list(range(1, 11))
