"""The panels beside the diagram: the sentence, limits, the session, findings."""
