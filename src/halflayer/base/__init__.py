"""What every room stands on: units at the edge, the three kinds of error, results that carry their trail."""
