"""The rooms behind `service.record`: a message is admitted, its kin is loaded and folded, or it is refused and kept."""
