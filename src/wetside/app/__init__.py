"""One session at work: clock, journal, state and keyboard held together; the ports its front ends use."""
