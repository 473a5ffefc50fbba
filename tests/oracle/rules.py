"""The rules, each a function of one unit's story at an instant."""

from tests.oracle.part_rules import filter_life, listed_parts
from tests.oracle.power_rule import power
from tests.oracle.recall_rule import recall
from tests.oracle.use_rules import cleaning, pre_use_check, thorough_examination
from tests.oracle.withdrawal_rule import withdrawal

RULES = {
    "thorough-examination": thorough_examination,
    "pre-use-check": pre_use_check,
    "cleaning": cleaning,
    "filter-life": filter_life,
    "power": power,
    "withdrawal": withdrawal,
    "listed-parts": listed_parts,
    "recall": recall,
}
