"""From a recording to a measured pass-by: detection, pitch track, fit, uncertainty."""
