"""The contracts: GraphQL types and resolvers, exported SDL, the OpenAPI document, JSON Schemas."""
