// Sends a file with tus-js-client as it comes: breaks off after the first part, goes on from what the service has.
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';

const { Upload } = createRequire(import.meta.url)('../npm/node_modules/tus-js-client');
const [endpoint, token, carvings, path, chunk] = process.argv.slice(2);
const options = {
  chunkSize: Number(chunk),
  headers: { Authorization: `Bearer ${token}` },
  metadata: { filename: 'crest.svg', filetype: 'image/svg+xml', carvings },
  retryDelays: null,
};
const file = readFileSync(path);
const given = { offsets: [] };

const uploadUrl = await new Promise((done, failed) => {
  const first = new Upload(file, { ...options, endpoint, onError: failed,
    onChunkComplete: (_size, taken) => {
      given.broken = taken;
      first.abort().then(() => done(first.url));
    } });
  first.start();
});
await new Promise((done, failed) => {
  new Upload(file, { ...options, uploadUrl, onError: failed, onSuccess: done,
    onChunkComplete: (_size, taken) => given.offsets.push(taken) }).start();
});
const dropped = new Upload(file, { ...options, endpoint, uploadDataDuringCreation: false,
  onChunkComplete: () => dropped.abort(true).then(() => console.log(JSON.stringify({ ...given, dropped: dropped.url }))) });
dropped.start();
