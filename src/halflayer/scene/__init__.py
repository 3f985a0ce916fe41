"""What stands where: solids painted in order, and the one tracer that dose, exposure and image share."""
