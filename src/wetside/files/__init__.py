"""Files that people write, read and checked at the edge; units; settings; atomic writes."""
