// Writes the types of the REST contract, by openapi-typescript, set as its documentation shows: a file is a Blob,
// and what has a usual value may be left out.
import { readFileSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';

const [contract, target] = process.argv.slice(2);
const npm = createRequire(new URL('../npm/package.json', import.meta.url));
const { default: openapiTS, astToString } = await import('../npm/node_modules/openapi-typescript/dist/index.mjs');
const ts = npm('typescript');
const BLOB = ts.factory.createTypeReferenceNode(ts.factory.createIdentifier('Blob'));
const written = await openapiTS(JSON.parse(readFileSync(contract, 'utf8')), {
  defaultNonNullable: false,
  transform: (schema) => (schema.format === 'binary' ? BLOB : undefined),
});
writeFileSync(target, astToString(written));
