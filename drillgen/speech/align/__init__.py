"""Letters against phonemes, and the original with its vowel letters marked."""
