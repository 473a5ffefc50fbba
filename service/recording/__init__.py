"""The rooms behind `record`, `define` and `resolve`: a message is admitted, decided and appended, or kept refused."""
