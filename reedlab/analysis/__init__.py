"""AFTER: outcomes blind to the habit, tests by reshuffling, the verdict. Arrays and frames only."""
