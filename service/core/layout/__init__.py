"""Sessions of a block laid out on days: by weekdays and wishes, forwards from a day or backwards from one."""
