"""What the statements on the reporting and the appraisal of guidelines ask for: their items, and arithmetic."""
