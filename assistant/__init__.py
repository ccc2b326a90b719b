"""leadline: guided, computed fault-finding for the wiring of small radio-controlled boats."""
