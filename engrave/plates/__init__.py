"""Bars to ink: MEI, the plain staff from verovio, our guitar layer. The only room that knows verovio."""
