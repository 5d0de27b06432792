import assert from 'node:assert/strict';
import { once } from 'node:events';
import { createServer, type AddressInfo, type Socket } from 'node:net';
import { after, test } from 'node:test';

import { ServiceError, type StatusDetails } from 'coilwright';

import { refused } from './check.js';
import { clientOf, Server } from './server.js';

test('every wrong field is one violation', async () => {
  const client = (await Server.start()).client();
  const error = await refused(
    client.rewindPlan.planRewind({ record: { machine: { nameplate: { rated_volts: -5 } } } }),
    'INVALID_ARGUMENT',
  );
  const wrong = error.violations.find(({ field }) => field === 'record.machine.nameplate.rated_volts');
  assert.match(wrong?.description ?? '', /^got -5 V, accepted: 1 V to 50000 V/);
  assert.ok(error.violations.length > 5);
  assert.match(error.message, /^record\.machine\.kind: got nothing/);
  assert.match(error.stack ?? '', /errors\.test/, 'the stack leads to who called');
});

test('an error without violations has its code and message', async () => {
  const client = (await Server.start()).client();
  const error = await refused(client.wire.lookUpWire({ wire: { designation: 'AWG 180' } }), 'NOT_FOUND');
  assert.match(error.message, /180/);
  assert.deepEqual(error.violations, []);
  assert.equal('requestId' in error, false);
});

test('what is wrong in a request is told as the server would, and nothing is sent', async () => {
  const client = clientOf('127.0.0.1:1'); // nobody listens: sending would be UNAVAILABLE
  const error = await refused(client.testLimit.getTestLimits({ rated_volt: 230 } as object), 'INVALID_ARGUMENT');
  assert.deepEqual(error.violations, [
    {
      field: 'rated_volt',
      description: 'no such field, accepted: rated_volts, rated_power, winding_kind, built_year, choice',
    },
  ]);
});

test('a name of any length is cut short', async () => {
  const error = await refused(clientOf('127.0.0.1:1').rule.listRules({ ['x'.repeat(1e6)]: 1 } as object), 'INVALID_ARGUMENT');
  assert.ok(error.message.length < 200, error.message.slice(0, 200));
});

test('a server that is not there is named', async () => {
  const client = clientOf('127.0.0.1:1');
  const error = await refused(client.archive.getArchive({}, { deadlineSeconds: 20 }), 'UNAVAILABLE');
  assert.match(error.message, /^no answer from 127\.0\.0\.1:1: .*ECONNREFUSED/);
  assert.doesNotMatch(error.message, /Resolution note/);
});

test('a write tells the id under which it can be sent again', async () => {
  const client = (await Server.start()).client();
  const made = await refused(client.windingArchive.createWinding({}), 'FAILED_PRECONDITION');
  assert.match(made.requestId ?? '', /^[0-9a-f-]{36}$/);
  const given = await refused(client.windingArchive.createWinding({ request_id: 'seamer-1' }), 'FAILED_PRECONDITION');
  assert.equal(given.requestId, 'seamer-1');
});

test('a deadline that passes is told as one, and a signal with its reason', async () => {
  const sockets: Socket[] = [];
  // It takes connections and never says a word, however fast or slow this machine is.
  const silent = createServer((socket) => sockets.push(socket)).listen(0, '127.0.0.1');
  after(() => {
    silent.close();
    for (const socket of sockets) socket.destroy(); // a client waits for the other side's goodbye
  });
  await once(silent, 'listening');
  const address = `127.0.0.1:${(silent.address() as AddressInfo).port}`;
  const client = clientOf(address);
  const late = await refused(client.rule.listRules({}, { deadlineSeconds: 0.2 }), 'DEADLINE_EXCEEDED');
  assert.match(late.message, /^no answer from 127.*within the deadline; deadlineSeconds gives it longer$/);
  await refused(clientOf(address, 0.2).rule.listRules({}), 'DEADLINE_EXCEEDED');

  const stop = new AbortController();
  setTimeout(() => stop.abort('the bench was switched off'), 100);
  const ended = await refused(client.rule.listRules({}, { signal: stop.signal }), 'CANCELLED');
  assert.equal(ended.cause, 'the bench was switched off');
  assert.match(
    (await refused(client.rule.listRules({}, { signal: stop.signal }), 'CANCELLED')).message,
    /before it was sent/,
  );

  const closing = client.rule.listRules({});
  setTimeout(() => client.close(), 100);
  assert.match((await refused(closing, 'CANCELLED')).message, /close\(\)/);
});

test('wrong options of a call are named', async () => {
  const client = (await Server.start()).client();
  for (const [options, said] of [
    [{ deadlineSeconds: '5' }, /^TypeError: deadlineSeconds: got "5", accepted: a number above 0/],
    [{ deadlineSeconds: NaN }, /^TypeError: deadlineSeconds: got NaN/],
    [{ timeout: 5 }, /^TypeError: options.timeout: no such option, accepted: deadlineSeconds, signal/],
    [{ signal: {} }, /^TypeError: signal: accepted: an AbortSignal/],
  ] as const)
    await assert.rejects(client.rule.listRules({}, options as object), said);
});

test('a status beside an item becomes the same error', () => {
  const error = ServiceError.ofStatus({
    code: 3,
    message: 'rated_volts: got -1 V',
    details: [
      {
        '@type': 'type.googleapis.com/google.rpc.BadRequest',
        field_violations: [{ field: 'rated_volts', description: 'got -1 V' }],
      },
      { '@type': 'type.googleapis.com/of.a.newer.server.Detail' },
    ],
  });
  assert.equal(error.code, 'INVALID_ARGUMENT');
  assert.deepEqual(error.violations, [{ field: 'rated_volts', description: 'got -1 V' }]);
  assert.throws(() => ServiceError.ofStatus(undefined!), /^TypeError: status: got nothing, accepted: the status of/);
  assert.equal(ServiceError.ofStatus({ code: 99, message: '', details: [] } satisfies StatusDetails).code, 'UNKNOWN');
});
