"""Words that say how a part is played, not how fast."""

import re
from typing import Final

# Ways of playing, which a tempo may stand beside in one line of words; common practice, no source.
TECHNIQUE: Final = re.compile(
    r"(?i)\b(pizz|arco|col legno|(con|senza|mit|ohne|avec|sans) (sord|dämpfer|sourdine)|mute|sul |solo|soli|"
    r"tutti|div|unis|trem|geteilt|zusammen|ped\b|una corda|tre corde|a 2\b|a due)"
)
