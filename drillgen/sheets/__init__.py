"""What a reader sees: drill, prompts, ladder, plan."""
