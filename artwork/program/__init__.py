"""A machine program held against what was signed: read, swept, compared. Nothing here makes a program.

The language is RS274/NGC as NISTIR 6556 states it (Kramer, Proctor, Messina, 2000), as far as a carving needs it;
what is not understood is refused with its line and word, never guessed.
"""

from artwork.program.bed import BedComparison, compare_bed
from artwork.program.comparing import Comparison, compare
from artwork.program.interpreting import read_program
from artwork.program.moves import Cutter, Moves, Program, ProgramError, ProgramRemark

__all__ = [
    "BedComparison",
    "Comparison",
    "Cutter",
    "Moves",
    "Program",
    "ProgramError",
    "ProgramRemark",
    "compare",
    "compare_bed",
    "read_program",
]
