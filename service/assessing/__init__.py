"""The rooms behind `service.assess`: a moment is fixed, what is stored for it is read, the rest is folded in memory."""
