"""What the seats printed in tests/netem against the timetable in the ledger and the scores in the review.

Standard library only. Prints a line for each seat; exit code 1 if anything is not as promised.
"""

import csv
import json
import pathlib
import re
import sqlite3
import sys

folder, names = pathlib.Path(sys.argv[1]), sys.argv[2:]
faults = []
# A seat stamps a cue with host time by its own clock once it comes to it; a person's reaction takes twice this long.
LATEST_MS = 100.0

ledger = sqlite3.connect(folder / "class.ledger")
bodies = [json.loads(body) for (body,) in ledger.execute("SELECT body FROM event ORDER BY seq")]
openings = sum(body["kind"] == "opened" for body in bodies)
(started,) = [body for body in bodies if body["kind"] == "started"]
cues = started["timetable"]["cues"]
if openings != 2:
    faults.append(f"the ledger was opened {openings} times, not twice")


def words(cue):
    """How a cue's line begins, and what else is in it."""
    action, steep = cue["action"], cue["steep"]
    if action == "sheet_closes":
        return f"the sheet of round {steep} closes", ""
    if action == "taste":
        return f"now: taste round {steep}", ""
    return f"now: {action} {cue['code']} ", f"(steep {steep}"


rows = {}
for row in csv.DictReader((folder / "review.csv").open()):
    if row["attribute"] in ("aroma", "liking"):
        rows[(row["seat"], row["code"], row["steep"], row["attribute"])] = row["value"]

for name in names:
    lines = (folder / f"{name}.out").read_text().splitlines()
    furthest_ms, fired, at = 0.0, 0, 0
    for cue in cues:
        begins, holds = words(cue)
        found = None
        for i in range(at, len(lines)):
            match = re.match(r"\[ *([\d.]+)\] (.*)", lines[i])
            if match and match[2].startswith(begins) and holds in match[2]:
                found = float(match[1])
                at = i + 1
                break
        if found is None:
            faults.append(f"{name}: no `{begins.strip()}` of round {cue['steep']} in its turn")
            continue
        fired += 1
        furthest_ms = max(furthest_ms, abs(found - cue["at_us"] / 1e6) * 1e3)
    if furthest_ms > LATEST_MS:
        faults.append(f"{name}: a cue came {furthest_ms:.0f} ms from its instant")
    kept = 0
    for line in lines:
        match = re.search(r"kept: (\d+) steep (\d+) \(aroma (\d+), liking (\d+)", line)
        if match:
            kept += 1
            code, steep, aroma, liking = match.groups()
            for attribute, value in (("aroma", aroma), ("liking", liking)):
                if rows.get((name, code, steep, attribute)) != value:
                    faults.append(f"{name}: {code} steep {steep} {attribute} {value} was acknowledged and is not in the review")
    clock = next((re.search(r"clock ± .*", line)[0] for line in lines if "clock ±" in line), "clock not said")
    lost = sum("no link: " in line for line in lines)
    if kept != 6:
        faults.append(f"{name}: {kept} scores were acknowledged, not 6")
    if lost == 0:
        faults.append(f"{name}: never noticed that the host was gone")
    print(
        f"{name:5} {fired}/{len(cues)} cues, stamps at most {furthest_ms:.0f} ms from their instants, "
        f"{kept} scores kept, {lost} × no link, {clock}"
    )

print("\n".join(f"NOT AS PROMISED: {fault}" for fault in faults) or "all as promised")
sys.exit(1 if faults else 0)
