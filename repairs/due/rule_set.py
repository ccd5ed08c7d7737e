"""All the rules that the rule set begins with, as a manager reads them: from the top, by kind."""

from __future__ import annotations

from repairs.due.look_rules import LOOK_RULES
from repairs.due.repaint_rules import REPAINT_RULES

DEFAULT_RULES = (*LOOK_RULES, *REPAINT_RULES)
