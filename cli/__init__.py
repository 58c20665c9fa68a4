"""What a person types, and the pictures and papers they look at."""
