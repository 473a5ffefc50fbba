"""The two uses of the service, recording and assessing, on a real database and without HTTP."""
