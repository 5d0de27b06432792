import assert from 'node:assert/strict';
import { test } from 'node:test';

import { ServiceError, type Request, type RunInsulationTestRequest, type StreamTestLimitsRequest } from 'coilwright';

import { gathered, pause } from './check.js';
import { clientOf, Server } from './server.js';

type Machines = Request<StreamTestLimitsRequest>;
type Run = Request<RunInsulationTestRequest>;

const machine = (label: string, rated_volts = 400): Machines => ({ machines: [{ label, limits: { rated_volts } }] });
const setup: Run = {
  setup: { rated_volts: 400, rated_power: { kw: 15 }, test_volts_dc: 500, winding_temperature: { celsius: 22 } },
};
const sample = (seconds: number): Run => ({
  samples: [{ seconds, test_volts_dc: 500, insulation_megohms: 100 + seconds }],
});

test('an iterable goes in, answers come out one by one', async () => {
  const client = (await Server.start()).client();
  const labels: string[] = [];
  for await (const { answers } of client.testLimit.streamTestLimits([
    machine('infeed'),
    machine('washer', -1),
    machine('outfeed'),
  ])) {
    for (const { label, limits, status } of answers) {
      labels.push(label);
      assert.equal(limits === undefined, label === 'washer');
      if (status === undefined) continue;
      const error = ServiceError.ofStatus(status);
      assert.equal(error.code, 'INVALID_ARGUMENT');
      assert.deepEqual(error.violations, [{ field: 'rated_volts', description: 'got -1 V, accepted: 1 V to 50000 V' }]);
    }
  }
  assert.deepEqual(labels, ['infeed', 'washer', 'outfeed']);
});

test('each reading of a run is answered before the next is taken, and the end sums up', async () => {
  const client = (await Server.start()).client();
  let answered = 0;
  async function* bench(): AsyncGenerator<Run> {
    yield setup;
    for (let i = 1; i <= 3; ++i) {
      while (answered < i) await pause(1); // sees the answer to what it gave
      yield sample(30 * i);
    }
  }
  const answers = [];
  for await (const answer of client.insulationRun.runInsulationTest(bench())) {
    answers.push(answer);
    ++answered;
  }
  assert.equal(answers.length, 5);
  assert.equal(answers.at(-1)?.samples_taken, '3');
  assert.deepEqual(
    answers.map(({ final }) => final),
    [false, false, false, false, true],
  );
});

test('an error in mid-stream comes after every answer before it, however slowly they are read', async () => {
  const client = (await Server.start()).client();
  const requests = [...Array.from({ length: 300 }, (_, i) => machine(`m${i}`)), { machines: [] }];
  const stream = client.testLimit.streamTestLimits(requests);
  const first = await stream.next();
  assert.equal(first.value?.answers[0]?.label, 'm0');
  await pause(300);
  const { items, thrown } = await gathered(stream);
  assert.deepEqual(
    items.map(({ answers }) => answers[0]?.label),
    Array.from({ length: 299 }, (_, i) => `m${i + 1}`),
  );
  assert.ok(thrown instanceof ServiceError && thrown.code === 'INVALID_ARGUMENT', String(thrown));
  assert.match(thrown.violations[0]?.field ?? '', /^machines/);
});

test('who does not read is not written to', async () => {
  const client = (await Server.start()).client();
  const all = 4000;
  let given = 0;
  function* machines(): Generator<Machines> {
    for (; given < all; ++given)
      yield { machines: Array.from({ length: 64 }, (_, i) => machine(`${given}/${i}`).machines![0]!) };
  }
  const stream = client.testLimit.streamTestLimits(machines());
  await stream.next();
  let waiting = -1;
  for (let tries = 0; tries < 60 && waiting !== given; ++tries) {
    waiting = given;
    await pause(300);
  }
  assert.equal(given, waiting, 'still taking requests');
  assert.ok(waiting < all, 'took all of them');
  for (let i = 0; i < 2 * waiting; ++i) assert.equal((await stream.next()).done, false);
  assert.ok(given > waiting);
  await stream.return();
});

test('leaving the loop cancels the call and closes what feeds it', async () => {
  const server = await Server.start('--streams=1');
  const client = server.client();
  let opened = 0;
  let closed = 0;
  let given = 0;
  async function* endless(): AsyncGenerator<Machines> {
    ++opened;
    try {
      for (given = 0; ; ++given) yield machine(`m${given}`);
    } finally {
      ++closed;
    }
  }
  for (let turn = 1; turn <= 3; ++turn) {
    await whereFree(async () => {
      for await (const { answers } of client.testLimit.streamTestLimits(endless()))
        if (answers[0]?.label === 'm2') break;
    });
    assert.ok(given < 1000, `${given} given before the third answer was read`);
    await pause(20);
    assert.equal(closed, opened);
  }
});

test('a bench that says nothing keeps neither break, nor signal, nor deadline, nor close() waiting', async () => {
  const server = await Server.start();
  const client = server.client();
  async function* silent(): AsyncGenerator<Machines> {
    yield machine('first');
    await new Promise(() => {});
  }
  for await (const _ of client.testLimit.streamTestLimits(silent())) break;

  const stop = new AbortController();
  setTimeout(() => stop.abort('enough'), 100);
  const aborted = await gathered(client.testLimit.streamTestLimits(silent(), { signal: stop.signal }));
  assert.equal(aborted.items.length, 1);
  assert.ok(
    aborted.thrown instanceof ServiceError && aborted.thrown.code === 'CANCELLED' && aborted.thrown.cause === 'enough',
  );
  const late = await gathered(client.testLimit.streamTestLimits(silent(), { signal: stop.signal }));
  assert.match(String(late.thrown), /before it was sent/);

  const timed = await gathered(client.testLimit.streamTestLimits(silent(), { deadlineSeconds: 0.3 }));
  assert.equal(timed.items.length, 1);
  assert.ok(timed.thrown instanceof ServiceError && timed.thrown.code === 'DEADLINE_EXCEEDED', String(timed.thrown));

  setTimeout(() => client.close(), 100);
  const closed = await gathered(client.testLimit.streamTestLimits(silent()));
  assert.ok(
    closed.thrown instanceof ServiceError &&
      closed.thrown.code === 'CANCELLED' &&
      /close\(\)/.test(closed.thrown.message),
  );
});

test('what goes wrong in the bench comes out of the loop', async () => {
  const client = (await Server.start()).client();
  async function* broken(): AsyncGenerator<Machines> {
    yield machine('first');
    throw new RangeError('the bench has lost its meter');
  }
  const { thrown } = await gathered(client.testLimit.streamTestLimits(broken()));
  assert.ok(thrown instanceof RangeError, String(thrown));

  const wrong = await gathered(client.testLimit.streamTestLimits([machine('first'), { machine: [] } as object]));
  assert.ok(
    wrong.thrown instanceof ServiceError && wrong.thrown.violations[0]?.field === 'machine',
    String(wrong.thrown),
  );

  for (const given of [undefined, null, 5, {}, 'ab'] as unknown[] as Machines[][]) {
    const none = await gathered(client.testLimit.streamTestLimits(given));
    assert.match(
      String(none.thrown),
      /^TypeError: streamTestLimits: got .*, accepted: an iterable or async iterable of StreamTestLimitsRequest/,
    );
  }
});

test('a server that is killed in mid-stream is told as such, and one that stops sums up first', async () => {
  // Stops the server once both messages were answered.
  async function interrupted(server: Server, stop: () => void) {
    const seen = { answers: 0 };
    async function* bench(): AsyncGenerator<Run> {
      yield setup;
      yield sample(30);
      while (seen.answers < 2) await pause(1);
      stop();
      await new Promise(() => {});
    }
    const finals: boolean[] = [];
    try {
      for await (const { final } of server.client().insulationRun.runInsulationTest(bench()))
        seen.answers = finals.push(final);
    } catch (error) {
      assert.ok(error instanceof ServiceError && error.code === 'UNAVAILABLE', String(error));
      return { finals, error };
    }
    return assert.fail('ended as if it had been closed');
  }
  const server = await Server.start('--grace_seconds=1');
  assert.deepEqual((await interrupted(server, () => server.signal('SIGTERM'))).finals, [false, false, true]);

  const other = await Server.start();
  const { finals, error } = await interrupted(other, () => void other.kill());
  assert.deepEqual(finals, [false, false]);
  assert.match(error.message, /^no answer from 127\.0\.0\.1:\d+: /);
  assert.doesNotMatch(error.message, /TLS/); // it has answered
});

test('a stream to nobody is not repeated', async () => {
  const client = clientOf('127.0.0.1:1');
  const { thrown } = await gathered(client.testLimit.streamTestLimits([machine('first')]));
  assert.ok(thrown instanceof ServiceError && thrown.code === 'UNAVAILABLE', String(thrown));
});

/** The server of one stream may need a moment to see that the one before has gone. */
async function whereFree(open: () => Promise<void>): Promise<void> {
  for (let tries = 0; ; ++tries) {
    try {
      return await open();
    } catch (error) {
      if (tries === 100 || !(error instanceof ServiceError) || error.code !== 'RESOURCE_EXHAUSTED') throw error;
      await pause(20);
    }
  }
}
