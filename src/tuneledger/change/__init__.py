"""Before and after a change: edits by path, rehearsal, change order, proof."""
