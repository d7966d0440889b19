"""SQL: functions of a transaction and arguments, one file for each resource."""
