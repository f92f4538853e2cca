"""The plain reference of the testing kit, under the name by which the tests of this repository
import it.
"""

from signrules.testing.reference import BruteForce, Raster

__all__ = ["BruteForce", "Raster"]
