"""The pure centre of the house: events in, outcomes out."""

from cabapp.cab.core import Cab
from cabapp.cab.row import row_columns

__all__ = ["Cab", "row_columns"]
