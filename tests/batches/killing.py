"""Records in child processes and kills each of them with -9 at a random moment.

    python -m tests.batches.killing READINGS IMPORTS SEED

prints what came of it as JSON. The database is the one that the environment names, with
the settings of every installation; every child opens it anew, as after a crash.
"""

import hashlib
import json
import os
import random
import signal
import sys
import time
import traceback
from collections.abc import Callable
from itertools import count
from pathlib import Path
from uuid import UUID

import django

django.setup()

from django.conf import settings  # noqa: E402 - Django is set up first
from django.core.management import call_command  # noqa: E402

from batches import models  # noqa: E402
from batches.verifying import verify  # noqa: E402
from safety.limits.load import catalogue  # noqa: E402
from tests.batches.firm import log, open_firm, read  # noqa: E402

AFTER_THE_FIRST = 0.6  # the share that may keep one row before they are killed
LONGEST_S = 0.06  # a reading takes some 3 ms, an import some 10 ms
VERIFY_EVERY = 20


def main(readings, imports, seed):
    """Kill so many recorders of each kind; return what was said, and what is there."""
    chance = random.Random(seed)
    catalogue()  # read once here, not once in every child
    answer_of(prepare)
    said, problems = [], []
    for kill in range(readings + imports):
        what = record_readings if kill < readings else record_imports
        said += killed(lambda what=what, kill=kill: what(kill), chance)
        is_whole_walk = kill % VERIFY_EVERY == 0
        problems += answer_of(looked_at, said, is_whole_walk)
    problems += answer_of(looked_at, said, True)  # noqa: FBT003
    return {"said": len(said), "problems": problems} | answer_of(counts)


def prepare():
    """Make the tables and a firm."""
    call_command("migrate", verbosity=0)
    open_firm(readings=0)


def whose():
    """Return the batch and its owner, as a fresh process finds them."""
    batch = models.Batch.objects.select_related("producer", "premises").get()
    return batch, models.Member.objects.select_related("producer").get()


def record_readings(kill):
    """Yield the key of each reading once it is kept."""
    batch, owner = whose()
    for number in count():
        entry_id = UUID(int=kill * 10**6 + number + 1)
        row = read(batch, owner, number % 50, entry_id=entry_id, place="Fish")
        yield "Reading", row.pk


def record_imports(kill):
    """Yield the key of each series once it and its file are kept."""
    batch, owner = whose()
    for number in count():
        stored, series = log(
            batch, owner, kill * 1000 + number, count=5000, lines=40_000
        )
        yield "LoggerFile", stored.pk
        yield "Trace", series.pk


def killed(deed: Callable, chance):
    """Let a child do one deed after another, kill it, return what it had said."""
    here, there = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(here)
        try:
            os.write(there, b"ready\n")
            for kind, key in deed():
                os.write(there, f"{kind} {key}\n".encode())
        except BaseException:  # noqa: BLE001 - told, then the child ends
            traceback.print_exc()
        os._exit(1)  # only a kill ends it well
    os.close(there)
    with os.fdopen(here, "rb") as pipe:
        pipe.readline()
        first = pipe.readline() if chance.random() < AFTER_THE_FIRST else b""
        time.sleep(chance.uniform(0, LONGEST_S))
        os.kill(child, signal.SIGKILL)
        _, status = os.waitpid(child, 0)
        if os.waitstatus_to_exitcode(status) != -signal.SIGKILL:
            raise SystemExit("a recorder ended by itself before it was killed")
        lines = (first + pipe.read()).decode().splitlines()
    return [tuple(line.split()) for line in lines]


def answer_of(deed, *told):
    """Return what a deed says in a process of its own: this one never opens the file."""
    here, there = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(here)
        with os.fdopen(there, "w") as pipe:
            json.dump(deed(*told), pipe)
        os._exit(0)
    os.close(there)
    with os.fdopen(here) as pipe:
        answer = pipe.read()
    os.waitpid(child, 0)
    return json.loads(answer)


def looked_at(said, is_whole_walk):
    """Return what is wrong with the record: it should be nothing."""
    problems = []
    for model in (models.Reading, models.LoggerFile, models.Trace):
        label, name = model._meta.label, model.__name__
        kept = {str(key) for key in model.objects.values_list("pk", flat=True)}
        noted = models.TrailEvent.objects.filter(subject=label)
        events = list(noted.values_list("subject_key", flat=True))
        lost = {key for kind, key in said if kind == name} - kept
        problems += [f"{name} {key} was acknowledged and is lost" for key in lost]
        if sorted(events) != sorted(kept):
            problems.append(f"{name}: rows and events differ")
    problems += [
        f"{path.name} is half a file"
        for path in Path(settings.MEDIA_ROOT).rglob("*")
        if path.is_file()
        and path.suffix != ".half"
        and hashlib.sha256(path.read_bytes()).hexdigest() != path.name
    ]
    if is_whole_walk:
        faults = verify(models.Producer.objects.get()).faults
        problems += [str(fault) for fault in faults if fault.kind != "clock"]
    return problems


def counts():
    """Return how many rows there are in the end."""
    return {
        "readings": models.Reading.objects.count(),
        "traces": models.Trace.objects.count(),
        "events": models.TrailEvent.objects.count(),
    }


if __name__ == "__main__":
    print(json.dumps(main(*map(int, sys.argv[1:]))))  # noqa: T201 - its answer
