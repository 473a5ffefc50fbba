"""The rooms of pushing: who serves a webhook, to which addresses, how it is signed and sent, when it is sent again."""
