"""What a layout costs: the named constants of every term, and why each has its size.

In: nothing.  Out: constants shared by the planner and its check.  Costs are integer points; one point is what
`turns` calls a point (a turn at which notes are certainly lost costs about 1000).  A weighted cost is points
times the user's percent, so weighted costs are hundredths of a point and stay integers.  Widths are permille
of a system's natural width, fills permille of a page's height.

The order of magnitude behind all of them: a tight turn costs some 300 points more than a quick one. Getting
rid of it is worth two pages more or some bad spacing, but not a page that nobody would print. All sizes were
then set on real scores (songs, piano, duos, trios, quartets), at the smallest number of tight and blocked
turns that still gave good pages.
"""

from collections.abc import Mapping
from typing import Final

from optimizer.settings import TERMS

# --- turns ---

# Even a turn with all the time in the world means handling paper in front of an audience: between two layouts
# with open turns, the one with fewer turns wins. Small, because a turn at a long rest disturbs nobody.
TURN_HANDLING: Final = 40

# --- strips ---

# Bars printed again must be found, and left out on the other page. Half of TURN_HANDLING for a strip and a little for
# each of its bars: nothing beside a tight turn made quick (300 points), too much for one that is merely a bit easier.
STRIP: Final = 20
STRIP_BAR: Final = 5

# --- fold-outs ---

# Each page beyond two on a spread is taped on and unfolded before playing: worth it as soon as it saves a
# turn, also when two of them save one (three pages at both ends instead of pairs), so less than half of
# TURN_HANDLING.
FOLD_OUT: Final = 15

# --- paper ---

# One more page to print and carry; its turn is counted by itself.
PAGE: Final = 60

# --- spacing: systems ---

# Badness is cubic, as for paragraphs (Knuth & Plass 1981, from memory): this much at the tolerance. Notes set
# a third wider than natural still read well; notes a tenth narrower begin to touch. Ours, from looking at
# pages.
BADNESS: Final = 60
STRETCH_TOLERANCE: Final = 350
SQUEEZE_TOLERANCE: Final = 100
MAX_BADNESS: Final = 600
# Hard limits; squeezing ends before notes touch. Words under notes come spaced as closely as they can be read, any
# closer and they run together: a hundredth is not seen. A bar that is wider than the page by itself may be squeezed
# further, since nothing else helps.
MAX_STRETCH: Final = 1000
MAX_STRETCH_GIVEN: Final = (
    2000  # at the end of a page as given, which its edition filled to the right margin too
)
MAX_SQUEEZE: Final = 70
MAX_SQUEEZE_SUNG: Final = 10
MAX_SQUEEZE_ALONE: Final = 300
# The last system of a piece or movement is left at its own width when stretching it would show.
SHORT_FROM: Final = 300
# A last system of one bar narrower than a third of the line looks forgotten: nearly forbidden.
NARROW_LAST: Final = 250
NARROW_PART: Final = 3
# A system left short because a turn is demanded after it.
SHORT_FORCED: Final = 90
# A system left short at the end of a page as given: the page's bars can nearly always be spread evenly instead, and a
# few bars alone at its foot look torn off.
SHORT_GIVEN: Final = 2500

# --- fill: pages ---

# With no white beyond the least distance a page is crammed; from 2 % of its height on it is not.
CRAM: Final = 20
CRAM_BELOW: Final = 20
# White up to a tenth of the page is spread between the systems unseen; then it shows, quadratic up to an empty
# page: 40 points at three tenths, which adds up when page after page looks so; 160 at half a page, which only a
# much better turn is worth.
WHITE_FREE: Final = 100
WHITE_EMPTY: Final = 800
# At the end of a movement a short page looks intended.
WHITE_AT_MOVEMENT_END: Final = 4  # a quarter of it
# The last page may be short; from half a page on its white counts, quadratic up to an empty page: 8 points at three
# fifths, which is what spreading the last systems over two pages costs, 72 for a system or two.
LAST_PAGE_FREE: Final = 500
LAST_PAGE_EMPTY: Final = 200
# Nor should a movement end with one lonely system: some of the page before it stand better above that system, though
# both pages are half white then.
LONELY_WHITE: Final = 800
MOVEMENT_END_LONELY: Final = 80
# A blank side within a set: more than a half-empty page, less than a tight turn.
BLANK_SIDE: Final = 220
# A movement should start on a page of its own, but not at the price of one.
MOVEMENT_INSIDE_PAGE: Final = 20

# --- staff-size ---

# Points for each page of music (at the largest staff) and square millimetre of (largest - chosen) staff: the
# first half millimetre is hardly missed, the next ones are (Bell & Church 2005: smaller print reads as
# accurately, larger is preferred). Half a millimetre below 7 mm saves a seventh of the paper and its turns;
# it costs 12 points a page.
STAFF_PER_PAGE_MM2: Final = 50

Terms = dict[str, int]


def weighted(points: Mapping[str, int], weights: Mapping[str, int]) -> Terms:
    """Each term times its percent: hundredths of a point."""
    return {term: points[term] * weights[term] for term in TERMS}
