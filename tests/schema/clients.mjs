// Runs one query, one mutation and one subscription with each client as it comes, and prints what each was given.
import { ApolloClient, HttpLink, InMemoryCache, gql } from '../npm/node_modules/@apollo/client/core/index.js';
import { Client, fetchExchange } from '../npm/node_modules/@urql/core/dist/urql-core.mjs';
import { createClient as sseClient } from '../npm/node_modules/graphql-sse/lib/index.mjs';
import { createClient as wsClient } from '../npm/node_modules/graphql-ws/dist/index.js';
import WebSocket from '../npm/node_modules/ws/wrapper.mjs';

const [url, token, order] = process.argv.slice(2);
const headers = { authorization: `Bearer ${token}` };
const QUERY = `query Q($id: ID!) { order(id: $id) { number } }`;
const CHANGE = `mutation M($id: ID!, $note: String) { amendOrder(orderId: $id, expectedRevision: 999, order: {note: $note})
  { __typename } }`;
const HEAR = `subscription S($id: ID!) { orderChanged(orderId: $id) { number } }`;
const variables = { id: order };
const change = { id: order, note: 'n' };
const given = {};

async function told(name, work) {
  try {
    const late = new Promise((_, failed) => setTimeout(() => failed(new Error('no answer')), 8000).unref());
    given[name] = await Promise.race([work(), late]);
  } catch (error) {
    given[name] = String(error);
  }
}

const urql = new Client({ url, exchanges: [fetchExchange], fetchOptions: { headers }, fetchSubscriptions: true,
  preferGetMethod: false });
await told('urql query', async () => (await urql.query(QUERY, variables).toPromise()).data.order.number);
await told('urql mutation', async () => (await urql.mutation(CHANGE, change).toPromise()).data.amendOrder.__typename);
await told('urql subscription', () => new Promise((done, failed) => {
  const { unsubscribe } = urql.subscription(HEAR, variables).subscribe((heard) => {
    setTimeout(() => unsubscribe());
    heard.error ? failed(heard.error) : done(heard.data.orderChanged.number);
  });
}));

const apollo = new ApolloClient({ link: new HttpLink({ uri: url, headers }), cache: new InMemoryCache() });
await told('apollo query', async () => (await apollo.query({ query: gql(QUERY), variables })).data.order.number);
await told('apollo mutation', async () =>
  (await apollo.mutate({ mutation: gql(CHANGE), variables: change })).data.amendOrder.__typename);
await told('apollo subscription', () => new Promise((done, failed) => {
  const heard = apollo.subscribe({ query: gql(HEAR), variables }).subscribe({
    next: (result) => {
      setTimeout(() => heard.unsubscribe());
      done(result.data.orderChanged.number);
    },
    error: failed,
  });
}));

const first = (client, query, vars, ofIt) => new Promise((done, failed) => {
  const dispose = client.subscribe({ query, variables: vars }, {
    next: (result) => {
      setTimeout(() => dispose());
      result.data ? done(ofIt(result.data)) : failed(JSON.stringify(result));
    },
    error: (error) => failed(error instanceof Error ? error : JSON.stringify(error)),
    complete: () => {},
  });
});
const distinct = sseClient({ url, headers });
const socket = wsClient({ url: url.replace('http', 'ws'), webSocketImpl: WebSocket,
  connectionParams: headers });
for (const [name, client] of [['graphql-sse', distinct], ['graphql-ws', socket]]) {
  await told(`${name} query`, () => first(client, QUERY, variables, (data) => data.order.number));
  await told(`${name} mutation`, () => first(client, CHANGE, change, (data) => data.amendOrder.__typename));
  await told(`${name} subscription`, () => first(client, HEAR, variables, (data) => data.orderChanged.number));
}
const single = sseClient({ url, headers, singleConnection: true, retryAttempts: 0 });
await told('graphql-sse single', () => first(single, QUERY, variables, (data) => data.order.number));
console.log(JSON.stringify(given));
process.exit(0);
