"""The quote: a whole job sized, billed to order, computed in hours, and priced."""
