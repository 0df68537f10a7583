"""From signals and repetitions to verdicts: the decision rule, cues, tempo, the headline, and the whole chain."""
