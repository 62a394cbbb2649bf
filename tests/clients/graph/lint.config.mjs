// The recommended rules of graphql-eslint for a schema. An id is asked of every type that can be asked for again (that is
// a Node); values within them, outcomes and pages have none.
import { readFileSync } from 'node:fs';
import plugin from '@graphql-eslint/eslint-plugin';
import { buildSchema, isObjectType } from 'graphql';

const schema = buildSchema(readFileSync('schema.graphql', 'utf8'));
const values = Object.values(schema.getTypeMap())
  .filter((kind) => isObjectType(kind) && !kind.getInterfaces().some(({ name }) => name === 'Node'))
  .map(({ name }) => name);

export default [
  {
    files: ['schema.graphql'],
    languageOptions: { parser: plugin.parser, parserOptions: { graphQLConfig: { schema: 'schema.graphql' } } },
    plugins: { '@graphql-eslint': plugin },
    rules: {
      ...plugin.configs['flat/schema-recommended'].rules,
      '@graphql-eslint/strict-id-in-types': ['error', { exceptions: { types: values } }],
    },
  },
];
