"""What differs between two packs (or sources), in words: what a lead reads before a pack is approved."""
