"""The ear: a recorded take of a known drill, measured syllable by syllable."""
