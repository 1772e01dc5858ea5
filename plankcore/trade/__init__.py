"""Facts of the trade, each with its source: tables and rules, and no knowledge of any one plank."""
