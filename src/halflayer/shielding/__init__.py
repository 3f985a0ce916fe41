"""Who stands where: plates and layers sized so that every limit holds, barrier distance, crew dose."""
