/**
 * The tables of a run's journal, as a list of migrations counted in `user_version`.
 *
 * One SQLite file a run. Times are milliseconds since 1970 UTC on the run's clock unless their name says wall; values
 * are SI. Channels are numbered in the order of the layout. A change is a new entry at the end of the list, never an
 * edit. `reading` is keyed by (channel, time, value), so that a packet delivered twice is one reading and two different
 * values of the same millisecond are both kept. The minute tables hold sums and extremes, kept by triggers, so that a
 * chart of a month is quick and still shows its spikes.
 */
export const MIGRATIONS: readonly string[] = [
  `
  create table run (
    id integer primary key check (id = 1), name text not null, site text not null,
    started_ms integer not null, started_wall_ms integer not null, simulated integer not null,
    software text not null, layout text not null, layout_fingerprint text not null
  ) strict;
  create table channel (number integer primary key, id text not null unique, quantity text not null) strict;
  create table packet (
    number integer primary key, received_ms integer not null, received_wall_ms integer not null,
    topic text not null, payload blob not null, retained integer not null, verdict text not null
  ) strict;
  create table reading (
    channel integer not null, at_ms integer not null, value real not null, received_ms integer not null,
    device_ms integer, packet integer not null, in_range integer not null, live integer not null,
    primary key (channel, at_ms, value)
  ) strict, without rowid;
  create table expectation (
    channel integer not null, at_ms integer not null, expected real not null, low real, high real,
    primary key (channel, at_ms)
  ) strict, without rowid;
  create table reading_minute (
    channel integer not null, minute integer not null, rows integer not null, total real not null,
    primary key (channel, minute)
  ) strict, without rowid;
  create trigger reading_to_minute after insert on reading begin
    insert into reading_minute values (new.channel, new.at_ms / 60000, 1, new.value)
    on conflict do update set rows = rows + 1, total = total + excluded.total;
  end;
  create table expectation_minute (
    channel integer not null, minute integer not null, rows integer not null,
    expected real not null, low real, high real,
    primary key (channel, minute)
  ) strict, without rowid;
  create trigger expectation_to_minute after insert on expectation begin
    insert into expectation_minute values (new.channel, new.at_ms / 60000, 1, new.expected, new.low, new.high)
    on conflict do update set
      rows = rows + 1, expected = expected + excluded.expected, low = low + excluded.low, high = high + excluded.high;
  end;
  create table entry (
    number integer primary key, at_ms integer not null, at_wall_ms integer not null,
    after_packet integer not null, kind text not null, by text not null, body text not null, refusal text
  ) strict;
  create table alarm_transition (
    number integer primary key, at_ms integer not null, alarm text not null, became text not null, body text not null
  ) strict;
  create table picture (at_ms integer primary key, body text not null) strict;
  create table breakage (
    number integer primary key, at_ms integer not null, after_packet integer not null,
    doing text not null, why text not null
  ) strict;
  `,
  // What the sender of a packet of QoS 1 called it: tells a redelivery across a restart.
  `alter table packet add column message_id integer;`,
  // The gateway went on with this run: it was away from ended_ms to at_ms.
  `
  create table restart (
    number integer primary key, at_ms integer not null, at_wall_ms integer not null,
    ended_ms integer not null, after_packet integer not null, software text not null
  ) strict;
  `,
  `
  alter table reading_minute add column lowest real;
  alter table reading_minute add column highest real;
  update reading_minute set (lowest, highest) = (
    select min(value), max(value) from reading
    where reading.channel = reading_minute.channel and at_ms >= 60000 * minute and at_ms < 60000 * (minute + 1)
  );
  drop trigger reading_to_minute;
  create trigger reading_to_minute after insert on reading begin
    insert into reading_minute values (new.channel, new.at_ms / 60000, 1, new.value, new.value, new.value)
    on conflict do update set rows = rows + 1, total = total + excluded.total,
      lowest = min(lowest, excluded.lowest), highest = max(highest, excluded.highest);
  end;
  `,
  // What the core had counted at its last recorded picture: where counting goes on after a restart.
  `create table books (id integer primary key check (id = 1), at_ms integer not null, body text not null) strict;`,
  // What the site's hour meter of uptime read when the run began and when it was written last; whether single readings
  // are gone.
  `
  create table uptime (
    id integer primary key check (id = 1), began_ms integer not null, ended_ms integer not null,
    thinned integer not null
  ) strict;
  `,
];
