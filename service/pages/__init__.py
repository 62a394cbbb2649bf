"""Server-rendered pages for clients and for the workshop; they speak to ``/api/v1`` and to nothing else."""
