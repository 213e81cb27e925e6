"""What one hears: the reference tone and the model voice."""
