"""All published examples of meaning, from the files that hold them by subject."""

from tests.oracle.case import Case
from tests.oracle.cases_clocks import CLOCKS
from tests.oracle.cases_examination import EXAMINATION
from tests.oracle.cases_identity import IDENTITY
from tests.oracle.cases_parts import PARTS
from tests.oracle.cases_phase import PHASE
from tests.oracle.cases_recall import RECALL
from tests.oracle.cases_release import RELEASE
from tests.oracle.cases_use import USE

CASES: list[Case] = [*EXAMINATION, *USE, *PARTS, *RELEASE, *RECALL, *PHASE, *IDENTITY, *CLOCKS]
