"""Forward model of the reflex and of the recording: arrays in, arrays out."""
