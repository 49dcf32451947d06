"""The sheet on what the choices do: formula for the speed of sound, wind, ways of working."""
