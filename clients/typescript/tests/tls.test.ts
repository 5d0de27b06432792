// TLS, mutual TLS and roles of a coilwrightd with an archive: who is let in, what everybody else is told, and that they
// write nothing. certificates.sh says which certificate is whose.
import assert from 'node:assert/strict';
import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, describe, test } from 'node:test';

import { connect, type Client, type ConnectOptions } from 'coilwright';

import { gathered, pause, refused } from './check.js';
import { home, Server } from './server.js';

const fadesAfterSeconds = 5;
const machine = {
  kind: 'MACHINE_KIND_INDUCTION',
  nameplate: { rated_volts: 400, rated_power: { kw: 4 }, poles: 4 },
} as const;

const folder = mkdtempSync(join(tmpdir(), 'coilwright-'));
after(() => rmSync(folder, { recursive: true }));
execFileSync('bash', [`${home}../../tests/certificates.sh`, folder, String(fadesAfterSeconds)]);
const file = (name: string) => join(folder, name);

/** Serves with the certificate of this name. */
const serve = (name: string, ...flags: string[]) =>
  Server.start(`--tls_cert=${file(`${name}.pem`)}`, `--tls_key=${file(`${name}.key`)}`, ...flags);

/** An authority that the server is held against, and a certificate of our own. */
const by = (authority: string, own?: string): ConnectOptions => ({
  ca: file(`${authority}.pem`),
  ...(own === undefined ? {} : { certificate: file(`${own}.pem`), key: file(`${own}.key`) }),
});

/** What a client with these options gets; it is closed in any case. */
async function as<T>(server: Server, options: ConnectOptions, ask: (client: Client) => Promise<T>): Promise<T> {
  const client = connect(server.address, options);
  try {
    return await ask(client);
  } finally {
    client.close();
  }
}

const serving = (client: Client) => client.isServing(); // which is not repeated, as writes are
const opened = (client: Client) =>
  client.job.createJob({ job: { title: 'retort pump 2', machine }, recorded_by: 'Ana' });

/** What is said where nobody is reached, in bounded time. */
async function unreached(server: Server, options: ConnectOptions, ask: (client: Client) => Promise<unknown> = serving) {
  const begun = Date.now();
  const { message } = await refused(as(server, options, ask), 'UNAVAILABLE');
  assert.ok(Date.now() - begun < 15_000, message);
  return message;
}

const fading = await serve('fading');
const fades = Date.now() + 1000 * fadesAfterSeconds;
const server = await serve('server');
const shop = await serve(
  'server',
  `--tls_client_ca=${file('authority.pem')}`,
  `--roles=${file('roles.json')}`,
  `--archive=${file('archive.db')}`,
);
const entries = () =>
  as(shop, by('authority', 'office'), async (client) => (await client.archive.getArchive({})).entries);

describe('TLS', { concurrency: true }, () => {
  test('the server is known by its authority, as a path, as bytes and as text', async () => {
    const path = file('authority.pem');
    for (const ca of [path, readFileSync(path), readFileSync(path, 'utf8')])
      assert.equal(await as(server, { ca }, serving), true);
  });

  test('another authority or another name is refused, with a hint', async () => {
    assert.match(await unreached(server, by('stranger')), /signed by this ca, and still valid\?/);
    assert.match(await unreached(await serve('elsewhere'), by('authority')), /a name that stands in its certificate/);
  });

  test('a certificate of the server that has ended is refused, with a hint', async () => {
    assert.equal(await as(fading, by('authority'), serving), true);
    await pause(fades + 1000 - Date.now());
    assert.match(await unreached(fading, by('authority')), /expired.*still valid\?/);
  });

  test('plain text and TLS do not mix, and each says so', async () => {
    assert.match(await unreached(server, {}), /does the server want TLS\? then give ca/);
    assert.match(await unreached(await Server.start(), by('authority')), /leave ca out/);
  });

  // One test: what is written by one of its steps is counted by the others.
  test('who is not let in writes nothing, and a role decides what the others may', async () => {
    const ours = /does the server want a certificate of ours, of an authority that it trusts and not out of date\?/;
    const strangers: [ConnectOptions, RegExp][] = [
      [by('authority'), ours],
      [by('authority', 'intruder'), ours],
      [by('authority', 'expired'), ours],
      [by('stranger', 'bench-3'), /signed by this ca/],
      [{}, /then give ca/],
    ];
    await Promise.all(strangers.map(async ([who, said]) => assert.match(await unreached(shop, who, opened), said)));
    const denied = async (own: string, needs: string, ask: (client: Client) => Promise<unknown>) => {
      const { message } = await refused(as(shop, by('authority', own), ask), 'PERMISSION_DENIED');
      assert.match(message, new RegExp(`"${own}".* needs the role ${needs}`));
    };
    await denied('visitor', 'read', (client) => client.rule.listRules({}));
    await denied('visitor', 'read', async (client) => {
      throw (await gathered(client.testLimit.streamTestLimits([{}]))).thrown;
    });
    await denied('office', 'record', opened);
    assert.equal(await entries(), '0');

    const { job } = await as(shop, by('authority', 'bench-3'), opened);
    assert.equal(await entries(), '1');
    const release = {
      name: job!.name,
      etag: job!.revision!.etag,
      person: 'Bo Lind',
      qualification: 'licensed electrician',
      despite_verdict: 'the bench is out for repair',
    };
    await denied('bench-3', 'sign off', (client) => client.job.signOffJob(release));
    assert.equal(await entries(), '1');
    const released = await as(shop, by('authority', 'foreman'), (client) => client.job.signOffJob(release));
    assert.equal(released.job?.sign_offs[0]?.person, 'Bo Lind');

    // The README has the certificate of a job made.
    const cold = { winding_temperature: { celsius: 24 }, temperature_evidence: 'TEMPERATURE_EVIDENCE_SOAKED' } as const;
    const megohms = { insulation_megohms: 900, test_volts_dc: 500, ...cold };
    const readings = { stage: 'STAGE_ASSEMBLED', rotor_fitted: true, readings: [{ megohms }] } as const;
    await as(shop, by('authority', 'bench-3'), async (client) => {
      await client.job.createJob({ job: { machine }, job_id: 'retort-pump-2', recorded_by: 'Ana' });
      await client.job.addReadings({ job: 'jobs/retort-pump-2', readings, taken_by: 'Ana' });
    });
    const readme = readFileSync(`${home}README.md`, 'utf8');
    const snippet = [...readme.matchAll(/^```ts\n([^]*?)^```$/gm)].map((block) => block[1]!)[1]!;
    const program = snippet
      .replace("'coilwright'", JSON.stringify(`${home}dist/src/index.js`))
      .replace('bench-server:7360', `localhost:${shop.port}`);
    const run = (...words: string[]) => spawnSync(process.execPath, words, { cwd: folder, encoding: 'utf8' });
    const made = run('--input-type=module', '-e', program);
    assert.deepEqual([made.stdout, made.stderr], ['wrote retort-pump-2.pdf\n', '']);
    assert.match(readFileSync(file('retort-pump-2.pdf'), 'latin1'), /^%PDF-/);

    const jobs = [`localhost:${shop.port}`, `${home}examples/harbour-lane-jobs.csv`];
    const flags = ['--ca', 'authority.pem', '--cert', 'office.pem', '--key', 'office.key'];
    const answered = run(`${home}dist/examples/shop_jobs.js`, ...flags, ...jobs);
    assert.equal(answered.stderr, 'shop_jobs: 7 jobs, 4 without an answer, 1 to stop\n');
  });

  test('what is no certificate is told before anything is sent', () => {
    const to = (options: object) => () => connect('127.0.0.1:1', options).close();
    const ca = file('authority.pem');
    assert.throws(to({ ca: file('authority.key') }), /^TypeError: ca: not a certificate in PEM/);
    assert.throws(to({ ca: Buffer.from('nonsense') }), /^TypeError: ca: not a certificate in PEM/);
    assert.throws(to({ ca: file('nowhere.pem') }), { code: 'ENOENT' });
    assert.throws(to({ ca: 5 }), /^TypeError: ca: accepted: a path, or the bytes of a PEM file/);
    assert.throws(
      to({ ca, certificate: file('bench-3.pem') }),
      /^TypeError: certificate and key: got one of them, accepted: both or none/,
    );
    assert.throws(
      to({ certificate: file('bench-3.pem'), key: file('bench-3.key') }),
      /^TypeError: ca: missing beside certificate and key/,
    );
    assert.throws(
      to({ ca, certificate: file('bench-3.pem'), key: file('intruder.key') }),
      /^TypeError: certificate and key: /,
    );
    assert.throws(
      to({ ca, certificate: file('bench-3.pem'), key: Buffer.from('nonsense') }),
      /^TypeError: certificate and key: /,
    );
  });
});
