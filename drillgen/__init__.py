"""Drills for a forward resonance: any text with its vowels swapped for /i/."""
