"""A million trees: makes the grove, and is the plain program that the figure compares with.

    python3 tests/bench/million_trees.py make FOLDER [ROWS]    writes grove.yaml, trees.csv and book.rulebook
    python3 tests/bench/million_trees.py decide FOLDER         reads trees.csv and writes JSON with an if-chain

Compare `bloomward advise FOLDER --format json` with `decide`, both writing to a file.
"""

import csv
import json
import random
import sys

BOOK = """rulebook "A million trees"
  caution "For measuring only."

source own "made for measuring"

scale bloom
  dormant
  first-open
  full-bloom
  petal-fall
  pinhead
  marble

observe stage
  kind bloom
observe open-flowers
  kind share
observe fruit-set
  kind count
observe mildew
  kind share
observe blight
  kind share
observe prone
  kind yes-no

product copper
  group M01
  strength reduced 1 g/L
  strength full 2 g/L
  cites own
product sulfur
  group M02
  strength reduced 2 g/L
  strength full 4 g/L
  cites own

gate copper-on-open-bloom
  shuts copper
  if open-flowers at least 20 %
  unless fruit-set at least 5
  because "copper kills pollen"
  cites own
gate gentle
  holds copper to reduced
  if stage from first-open to marble
  because "young tissue burns"
  cites own

choice blight-first
  advise copper at full
  or else sulfur at reduced
  if blight at least 5 %
  outranks mildew-next, rest
  because "blight is there"
  cites own
choice mildew-next
  advise sulfur at full
  if mildew at least 5 % and prone
  outranks rest
  because "mildew is there"
  cites own
choice rest
  advise hold
  because "nothing to do"
  cites own
"""

STAGES = ["dormant", "first-open", "full-bloom", "petal-fall", "pinhead", "marble"]


def make(folder, rows):
    random.seed(1)
    with open(f"{folder}/book.rulebook", "w") as out:
        out.write(BOOK)
    with open(f"{folder}/grove.yaml", "w") as out:
        out.write(
            "grove: A million trees\nrulebook: book.rulebook\n"
            "place: { latitude: 18.05, longitude: -66.50, timezone: America/Puerto_Rico }\n"
            "as-of: 2027-02-11T05:30\nsprays: none yet\nseen: 2027-02-10\n"
            "blocks:\n  - { block: terrace }\n  - { block: hill }\ntrees: trees.csv\n"
        )
    with open(f"{folder}/trees.csv", "w", newline="") as out:
        write = csv.writer(out, lineterminator="\n")
        write.writerow(["tree", "block", "cultivar", "stage", "open-flowers", "fruit-set", "mildew", "blight", "prone"])
        for row in range(rows):
            write.writerow(
                [
                    f"T{row:07}",
                    random.choice(["terrace", "hill"]),
                    random.choice(["Kent", "Haden", "Tommy Atkins"]),
                    random.choice(STAGES),
                    f"{random.randrange(101)} %",
                    random.randrange(12),
                    f"{random.randrange(20)} %",
                    f"{random.randrange(10)} %",
                    random.choice(["yes", "no"]),
                ]
            )


def decide(folder):
    out = sys.stdout
    out.write('{"trees":[')
    with open(f"{folder}/trees.csv", newline="") as file:
        for number, row in enumerate(csv.DictReader(file)):
            stage = STAGES.index(row["stage"])
            opened = float(row["open-flowers"].rstrip(" %"))
            fruit = int(row["fruit-set"])
            mildew = float(row["mildew"].rstrip(" %"))
            blight = float(row["blight"].rstrip(" %"))
            shut, held = [], []
            if opened >= 20 and not fruit >= 5:
                shut.append({"product": "copper", "by": "copper-on-open-bloom"})
            if 1 <= stage <= 5:
                held.append({"product": "copper", "to": "reduced", "by": "gentle"})
            spray, verdict = [], "hold"
            if blight >= 5:
                choice, verdict = "blight-first", "spray"
                if not shut:
                    spray = [{"product": "copper", "strength": "reduced" if held else "full"}]
                else:
                    spray = [{"product": "sulfur", "strength": "reduced"}]
            elif mildew >= 5 and row["prone"] == "yes":
                choice, verdict, spray = "mildew-next", "spray", [{"product": "sulfur", "strength": "full"}]
            else:
                choice = "rest"
            tree = {
                "tree": row["tree"],
                "block": row["block"],
                "verdict": verdict,
                "spray": spray,
                "choice": choice,
                "choices": [choice],
                "shut": shut,
                "held": held,
                "windows": [],
                "not_checked": [],
                "compromise": None,
                "needs": [],
                "answers": [],
                "between": [],
                "safe": [],
                "tasks": [],
                "warnings": [],
                "recheck": None,
                "seen": "2027-02-10",
                "covered_until": None,
                "keep_out_until": None,
                "pick_not_before": None,
                "close_calls": [],
                "values": {
                    "cultivar": {"value": row["cultivar"]},
                    "stage": {"value": row["stage"]},
                    "open-flowers": {"value": opened, "unit": "%"},
                    "fruit-set": {"value": fruit},
                    "mildew": {"value": mildew, "unit": "%"},
                    "blight": {"value": blight, "unit": "%"},
                    "prone": {"value": row["prone"]},
                },
            }
            out.write(",\n" if number else "\n")
            out.write(json.dumps(tree))
    out.write("]}\n")


if __name__ == "__main__":
    if sys.argv[1] == "make":
        make(sys.argv[2], int(sys.argv[3]) if len(sys.argv) > 3 else 1_000_000)
    else:
        decide(sys.argv[2])
