// Held by the compiler: a line below "@ts-expect-error" that is no error fails the build.
import type { Client, PlanRewindResponse, StreamTestLimitsResponse, VoltageShape } from 'coilwright';

export async function typesOf(client: Client): Promise<void> {
  const plan: PlanRewindResponse = await client.rewindPlan.planRewind({
    record: { machine: { kind: 'MACHINE_KIND_INDUCTION', core: { bore_diameter: { inches: 3.74 } } } },
    wires: undefined,
  });
  const limits = await client.testLimit.getTestLimits({}, { deadlineSeconds: 1, signal: new AbortController().signal });
  const answers: AsyncIterable<StreamTestLimitsResponse> = client.testLimit.streamTestLimits([
    { machines: [{ label: 'a' }] },
  ]);
  const shape: VoltageShape | undefined = limits.withstand_ac?.volts_shape;
  const count: number = plan.options.length + limits.notes.length;
  const entries: string = (await client.archive.getArchive({})).entries;

  // @ts-expect-error a request is needed
  await client.testLimit.getTestLimits();
  // @ts-expect-error no such field
  await client.testLimit.getTestLimits({ rated_volt: 230 });
  // @ts-expect-error no such field, further in
  await client.testLimit.getTestLimits({ rated_power: { kilowatts: 1 } });
  // @ts-expect-error a text is no number
  await client.testLimit.getTestLimits({ rated_volts: '230' });
  // @ts-expect-error no such value
  await client.rewindPlan.planRewind({ record: { machine: { kind: 'MACHINE_KIND_STEAM' } } });
  // @ts-expect-error no such option
  await client.testLimit.getTestLimits({}, { timeout: 1 });
  // @ts-expect-error a stream takes an iterable
  client.testLimit.streamTestLimits({ machines: [] });
  // @ts-expect-error what may be absent is looked at first
  limits.withstand_ac.test_volts;
  // @ts-expect-error what may not be known is no number
  const volts: number = limits.withstand_ac!.test_volts;
  // @ts-expect-error 64 bits are no number
  const few: number = entries;
  // @ts-expect-error no such service
  client.steam;
  void [answers, shape, count, volts, few];
}
