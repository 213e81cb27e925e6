"""Text in, Drill out: text, pronounce, swap, respell, align, and the pipeline over them."""
