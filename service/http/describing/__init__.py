"""The rooms behind the description of the interface: schemas, the meaning of every field, parameters, problems."""
