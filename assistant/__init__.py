"""leadline: guided, computed fault-finding for the wiring of small radio-controlled boats."""

__all__ = ["__version__"]

__version__ = "0.1.0"
