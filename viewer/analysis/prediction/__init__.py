"""A trace made ready, the curve its datasheet predicts, translation to STC, uncertainty."""
