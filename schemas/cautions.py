"""What is said wherever programs are handed out.

Text to show, not law: the machine's manual, local rules and licensed practice come first. The facts have
their sources beside the set-up sheet's cautions (workers/cutting_data); the rest is common practice.
"""

CAUTIONS = (
    "A router can injure: eye and ear protection, dust extraction, no gloves or loose sleeves, hands away.",
    "A proof covers geometry. Clamps, the true size of a bit and a loose collet are not known to it.",
    "Run the first program above the work, check its size and direction, stay with the running machine.",
    "PVC gives off hydrogen chloride when overheated: sharp bits, large chips, never a laser or a flame.",
    "Feeds and speeds are starting points. The machine's manual, the makers' data, local rules come first.",
)
