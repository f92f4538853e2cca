"""The plain reference of the testing kit, under the name by which the tests of this repository
import it.
"""

from signrules.testing.brute_force import BruteForce
from signrules.testing.reference import Raster

__all__ = ["BruteForce", "Raster"]
