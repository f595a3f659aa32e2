"""The positioning model: pure functions of an eye, a face, an optic and a pose. No input or output, nothing of ours imported."""
