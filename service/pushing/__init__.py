"""The rooms of pushing: which addresses, how it is signed and sent, when it is sent again."""
