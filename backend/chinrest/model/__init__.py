"""The positioning model: pure functions of an eye, a face, an optic and a pose.

No input or output, and nothing of ours imported. The door is `answer.fit_request`.
"""
