"""The REST door: ``/api/v1``, its problems, its OpenAPI document."""
