"""The fretting hand: candidates, cost in mm, exact search, schemes."""
