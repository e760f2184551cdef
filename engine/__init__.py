"""The thinking: no printing, no prompting, no clock, no home folder."""
