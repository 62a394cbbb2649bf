import { openAsBlob } from 'node:fs';

const [compiled, url, art] = process.argv.slice(2);
const { journey } = await import(compiled);
console.log(JSON.stringify(await journey(url, await openAsBlob(art))));
