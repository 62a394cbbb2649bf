// A client's whole way through the REST door, by generated types alone: no cast, no type of its own.
import createClient from 'openapi-fetch';
import type { paths } from './api.js';

export async function journey(url: string, art: Blob) {
  const visitor = createClient<paths>({ baseUrl: `${url}/api/v1` });
  const models = await visitor.GET('/workshops/{workshop}/models', { params: { path: { workshop: 'oxbarrow' } } });
  const bench = models.data?.items.find((model) => model.key === 'longwalk-bench');
  if (!bench) throw new Error('no such model');
  const placed = await visitor.POST('/workshops/{workshop}/orders', {
    params: { path: { workshop: 'oxbarrow' }, header: { 'Idempotency-Key': crypto.randomUUID() } },
    body: {
      contact: { name: 'Imke Harrowdale', email: 'imke@quillfern.example' },
      lines: [{ model_key: bench.key, quantity: 2, slats: ['back-centre'] }],
      needed_by: '2027-05-01',
      rights_granted: true,
    },
  });
  if (!placed.data) throw new Error(placed.error.detail);
  const { id, lines } = placed.data.order;
  const client = createClient<paths>({
    baseUrl: `${url}/api/v1`,
    headers: { Authorization: `Bearer ${placed.data.link_token}` },
  });
  const path = { order: id };
  const carvings = lines.flatMap((line) => line.carvings.map((carving) => carving.id)).join(',');
  const sent = await client.POST('/orders/{order}/artworks', {
    params: { path },
    body: { file: art, carvings },
    bodySerializer: (body) => {
      const form = new FormData();
      form.append('carvings', carvings);
      form.append('file', body instanceof Blob ? body : body.file, 'crest.svg');
      return form;
    },
  });
  if (!sent.data) throw new Error(sent.error.detail);

  const look = async () => {
    const got = await client.GET('/orders/{order}', { params: { path } });
    if (!got.data) throw new Error(got.error?.detail);
    return got.data;
  };
  let order = await look();
  const all = () => order.lines.flatMap((line) => line.carvings);
  while (all().some(({ state }) => state === 'reading' || state === 'checking')) {
    await new Promise((done) => setTimeout(done, 50));
    order = await look();
  }
  const proofs = all().flatMap(({ id: carving_id, proof }) => (proof ? [{ carving_id, proof }] : []));
  const shown = proofs.map(({ carving_id, proof }) => ({ carving_id, digest: proof.digest, picture: proof.picture }));
  for (const [place, { proof }] of proofs.entries()) {
    const seen = shown[place];
    if (seen && proof.remarks.length) await client.POST('/waivers', { body: { shown: seen, remarks: proof.remarks } });
  }
  const quote = await client.GET('/orders/{order}/quote', { params: { path } });
  const signed = await client.POST('/orders/{order}/sign-offs', {
    params: { path },
    body: { shown, quote: quote.data?.current?.digest ?? null, draft_revision: order.revision },
  });
  if (!signed.data) throw new Error(signed.error.detail);
  order = await look();
  return {
    number: order.number,
    verdicts: proofs.map(({ proof }) => proof.check.verdict),
    depth: Math.min(...proofs.map(({ proof }) => proof.check.figures.deepest_cut)),
    states: all().map(({ state }) => state),
  };
}
