"""How a job goes on from a sheet that is half printed: after a mishap, or a pass out of turn."""
