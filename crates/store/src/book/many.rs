//! Statements of SQLite that take many rows at once: each statement costs more
//! than a row.

use super::engine::{Value, with};
use super::seal::Sealed;
use std::sync::LazyLock;
use uuid::Uuid;

/// How many rows one statement takes: as many as are left, the largest first.
const ROWS: [usize; 4] = [64, 16, 4, 1];

/// One statement for each of [`ROWS`].
type Statements = LazyLock<[String; 4]>;

/// `before`, then so many brackets of `columns` values each, then `after`. The
/// salon is `$1` wherever it is asked for, in every bracket when `salon_in` says so.
fn statements(before: &str, salon_in: bool, columns: usize, after: &str) -> [String; 4] {
    ROWS.map(|rows| {
        let bracket = |row: usize| {
            let salon = salon_in.then(|| "$1".to_owned());
            let values: Vec<String> =
                salon.into_iter().chain((0..columns).map(|column| format!("${}", 2 + row * columns + column))).collect();
            format!("({})", values.join(", "))
        };
        let brackets: Vec<String> = (0..rows).map(bracket).collect();
        format!("{before} {}{after}", brackets.join(", "))
    })
}

static INSERT: Statements = LazyLock::new(|| {
    statements("INSERT INTO event (salon, seq, stream, version, at, actor, sort, format, body, hash) VALUES", true, 9, "")
});
static MOVE: Statements = LazyLock::new(|| {
    let after = " ON CONFLICT (salon, stream) DO UPDATE SET version = excluded.version";
    statements("INSERT INTO stream (salon, stream, version) VALUES", true, 2, after)
});
static KNOW: Statements = LazyLock::new(|| {
    let before = "SELECT s.column1, COALESCE((SELECT version FROM stream WHERE salon = $1 AND stream = s.column1), 0),
                         COALESCE((SELECT wrapped FROM stream_key WHERE salon = $1 AND owner = s.column1), x''),
                         COALESCE((SELECT number FROM erased WHERE salon = $1 AND owner = s.column1), 0)
                  FROM (VALUES";
    statements(before, false, 1, ") s")
});

/// Statements with their values, in order.
pub(super) type Many = Vec<(&'static str, Vec<Value>)>;

fn many<T>(salon: Uuid, statements: &'static Statements, mut rows: Vec<T>, values: impl Fn(T) -> Vec<Value>) -> Many {
    let mut all = Vec::new();
    while !rows.is_empty() {
        let at = ROWS.iter().position(|count| *count <= rows.len()).unwrap_or(ROWS.len() - 1);
        let rest = rows.split_off(ROWS[at]);
        let mut bound = with![salon];
        bound.extend(std::mem::replace(&mut rows, rest).into_iter().flat_map(&values));
        all.push((statements[at].as_str(), bound));
    }
    all
}

/// Writes rows of the table of events.
pub(super) fn inserts(salon: Uuid, rows: Vec<Sealed>) -> Many {
    many(salon, &INSERT, rows, |row| {
        with![row.seq, row.stream, row.version, row.at_ms, row.actor, row.sort.as_str(), row.format, row.body, row.hash]
    })
}

/// Notes each stream's version.
pub(super) fn moves(salon: Uuid, streams: Vec<(Vec<u8>, u64)>) -> Many {
    many(salon, &MOVE, streams, |(stream, version)| with![stream, version])
}

/// Asks what stands of each stream.
pub(super) fn questions(salon: Uuid, streams: Vec<Vec<u8>>) -> Many {
    many(salon, &KNOW, streams, |stream| with![stream])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_stands_in_one_statement_and_every_value_at_its_place() {
        for count in [0_u8, 1, 3, 5, 64, 65, 149] {
            let streams: Vec<Vec<u8>> = (0..count).map(|n| vec![n]).collect();
            let all = questions(Uuid::nil(), streams.clone());
            let bound: Vec<Vec<u8>> = all
                .iter()
                .flat_map(|(_, values)| &values[1..])
                .map(|value| if let Value::Bytes(bytes) = value { bytes.clone() } else { Vec::new() })
                .collect();
            assert_eq!(bound, streams);
            for (sql, values) in all {
                assert!(sql.contains(&format!("(${})", values.len())) && !sql.contains(&format!("${}", values.len() + 1)), "{sql}");
            }
        }
        assert!(MOVE[3].contains("($1, $2, $3) ON CONFLICT"), "{}", MOVE[3]);
        assert!(INSERT[2].contains("($1, $29, $30, $31, $32, $33, $34, $35, $36, $37)"), "{}", INSERT[2]);
    }
}
