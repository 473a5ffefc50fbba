"""What leaves the service in the words of others: pure functions from what is recorded to a published format."""
