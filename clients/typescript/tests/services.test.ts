import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { test } from 'node:test';

import { connect, ServiceError } from 'coilwright';

import { contract } from '../src/contract.js';
import { methods } from './check.js';
import { home, Server } from './server.js';

type AnyCalls = Record<string, Record<string, (given: unknown) => Promise<unknown> | AsyncGenerator<unknown>>>;

test('every method of the contract is called by its name and known to the server', async () => {
  const server = await Server.start();
  const typed = server.client();
  const client = typed as unknown as AnyCalls;
  assert.ok(methods().length > 40);
  for (const { service, method, attribute, name } of methods()) {
    const call = client[attribute]?.[method.localName];
    assert.ok(call !== undefined, name);
    const streams = method.methodKind === 'bidi_streaming';
    assert.equal(streams, method.methodKind !== 'unary', `${name} streams one way`);
    try {
      if (streams) assert.equal((await (call([]) as AsyncGenerator<unknown>).next()).done, true);
      else assert.equal(typeof (await call({})), 'object');
    } catch (error) {
      assert.ok(error instanceof ServiceError, `${name}: ${String(error)}`);
      assert.ok(
        ['INVALID_ARGUMENT', 'FAILED_PRECONDITION', 'NOT_FOUND'].includes(error.code),
        `${name}: ${error.code}`,
      );
    }
    assert.equal(await typed.isServing(service.typeName), true, service.typeName);
  }
  const names = Object.keys(client).filter((key) => !['isServing', 'close'].includes(key));
  const services = [...contract.files].flatMap((file) => file.services);
  const called = services.map(({ name }) => name.replace(/^./, (letter) => letter.toLowerCase()).replace(/Service$/, ''));
  assert.deepEqual(new Set(names), new Set(called));
});

test('health is that of the server or of one service', async () => {
  const client = (await Server.start()).client();
  assert.equal(await client.isServing(), true);
  await assert.rejects(client.isServing('coilwright.v1.Nothing'), { name: 'ServiceError', code: 'NOT_FOUND' });
  await assert.rejects(client.isServing('', { deadlineSeconds: 0 }), TypeError);
  await assert.rejects(client.isServing('', { seconds: 1 } as object), /^TypeError: options.seconds: no such option/);
  await assert.rejects(client.isServing('no blanks'), /^TypeError: service: got "no blanks", accepted: the full name/);
});

// A repeated call does no more than one: it reads, or carries the id under which it is made once, or passes over what
// is there.
test('every call that waits for one answer is repeated, and may be', () => {
  const config = JSON.parse(readFileSync(`${home}dist/service_config.json`, 'utf8')) as {
    methodConfig: { name: { service: string; method?: string }[]; retryPolicy: { retryableStatusCodes: string[] } }[];
  };
  for (const { service, method, name } of methods()) {
    const found = config.methodConfig.filter((entry) =>
      entry.name.some(
        (said) => said.service === service.typeName && (said.method === undefined || said.method === method.name),
      ),
    );
    assert.equal(found.length, method.methodKind === 'unary' ? 1 : 0, name);
    if (method.methodKind !== 'unary') continue;
    assert.deepEqual(found[0]?.retryPolicy.retryableStatusCodes, ['UNAVAILABLE'], name);
    const reads =
      /^(Get|List|Find|Compare|Export|Plan|Check|Estimate|Describe|LookUp|Identify|Choose(?!Plan)|Judge|Assess|Make)/.test(
        method.name,
      );
    assert.ok(reads || method.input.field['requestId'] !== undefined || method.name === 'ImportEntries', name);
  }
});

test('what cannot connect is told at once', () => {
  for (const address of [
    '',
    'localhost',
    '127.0.0.1:0',
    '127.0.0.1:99999',
    'http://127.0.0.1:7360',
    '127.0.0.1:7360/',
    '::1:7360',
  ])
    assert.throws(
      () => connect(address),
      { name: 'TypeError', message: /^address: got .*accepted: HOST:PORT/ },
      address,
    );
  connect('[::1]:7360').close();
  assert.throws(
    () => connect('127.0.0.1:7360', { deadlineSeconds: -1 }),
    /^TypeError: deadlineSeconds: got -1, accepted: a number above 0/,
  );
  // gRPC would never end the call.
  assert.throws(
    () => connect('127.0.0.1:7360', { deadlineSeconds: 1e10 }),
    /^TypeError: deadlineSeconds: got 10000000000, accepted: a number above 0, at most 1e9/,
  );
  assert.throws(
    () => connect('127.0.0.1:7360', { deadline: 3 } as object),
    /^TypeError: options.deadline: no such option, accepted: ca, certificate/,
  );
});

test('plain text that leaves this machine brings a warning', async () => {
  const warnings: string[] = [];
  const note = (warning: Error) => warnings.push(warning.message);
  process.on('warning', note);
  for (const address of [
    '127.0.0.1:7360',
    'localhost:7360',
    '[::1]:7360',
    'bench-2.harbour-lane.example:7360',
    '127.0.0.1.example:7360',
    '10.0.0.7:7360',
  ])
    connect(address).close();
  await new Promise((resolve) => setImmediate(resolve));
  process.off('warning', note);
  assert.deepEqual(
    warnings.map((said) => said.replace(/:7360: anybody .* give ca$/, '')),
    ['plain text to bench-2.harbour-lane.example', 'plain text to 127.0.0.1.example', 'plain text to 10.0.0.7'],
  );
});

test('a closed client says so', async () => {
  const client = (await Server.start()).client();
  client.close();
  await assert.rejects(client.archive.getArchive({}), /^TypeError: the client is closed/);
  await assert.rejects(client.isServing(), /^TypeError: the client is closed/);
  client.close();
});
