"""A full score into parts that an ensemble can play from: extraction, cues, the joint plan."""
