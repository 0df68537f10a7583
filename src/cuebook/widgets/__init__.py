"""What a coach works with in a notebook: the desk with the clip, its trace, its repetitions and its cues."""
