"""One question and its answer: limits, ranking, neighbours, reach and the wheel."""
