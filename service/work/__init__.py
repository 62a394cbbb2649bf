"""Background work: durable jobs, and the processes that do the carving arithmetic."""
