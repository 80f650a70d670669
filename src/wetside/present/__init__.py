"""Values to words and rows: the view model, keys, prompts, reports, charts."""
