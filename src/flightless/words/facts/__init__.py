"""What is worth saying of a proof or a case, as frozen statements in no language."""
