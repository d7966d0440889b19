"""A slot becomes sets with loads: which max, the coach's decisions, warm-ups, work sets, reasons."""
