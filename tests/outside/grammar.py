"""Reads the grammar with the package `abnf`, then every sentence: all of the first list fit, none of the second."""
import sys
from abnf.parser import ParseError, Rule


class Notation(Rule):
    pass


grammar, good, bad = sys.argv[1:]
Notation.from_file(grammar)
statement = Notation("statement")


def lines(path):
    return [line for line in open(path, encoding="utf-8").read().splitlines() if line]


def fits(sentence):
    try:
        statement.parse_all(sentence)
        return True
    except ParseError:
        return False


accepted, refused = lines(good), lines(bad)
wrong = ["not read: " + s for s in accepted if not fits(s)] + ["read: " + s for s in refused if fits(s)]
if wrong:
    sys.exit("\n".join(wrong))
print(f"{len(accepted)} sentences read, {len(refused)} refused")
