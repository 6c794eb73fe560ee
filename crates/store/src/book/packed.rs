//! Very many rows out of SQLite as one value.
//!
//! A row by itself costs more than what it holds: every value is copied with a
//! lock taken, and the row is handed from thread to thread. So the rows of a
//! [`Wide`] question are put one behind the other by SQLite itself and taken
//! apart here: numbers and lengths in digits, a space after each, then the bytes.

use super::engine::{Column, Line, Value, Wide};
use crate::StoreFault;

/// The question with one value as its answer.
pub(super) fn question(what: &'static Wide) -> &'static str {
    what.packed.get_or_init(|| {
        let number = |column: &Column| match column {
            Column::Int(name) => format!("{name}||' '"),
            Column::Bytes(name) => format!("length({name})||' '"),
            // Of a text the length is that of its letters.
            Column::Text(name) => format!("length(CAST({name} AS BLOB))||' '"),
        };
        let held = |column: &Column| (!matches!(column, Column::Int(_))).then(|| column.name().to_owned());
        let parts: Vec<String> = what.columns.iter().map(number).chain(what.columns.iter().filter_map(held)).collect();
        format!("SELECT COALESCE(CAST(group_concat(record, '') AS BLOB), x'') FROM (SELECT {} AS record {})", parts.join("||"), what.rest)
    })
}

/// Takes the rows apart again, in the order of their first column where that is a number.
pub(super) fn lines(what: &Wide, packed: &[u8]) -> Result<Vec<Line>, StoreFault> {
    let (mut rest, mut all) = (packed, Vec::new());
    while !rest.is_empty() {
        let mut numbers = Vec::with_capacity(what.columns.len());
        for _ in what.columns {
            numbers.push(number(&mut rest)?);
        }
        let mut line = Vec::with_capacity(what.columns.len());
        for (column, number) in what.columns.iter().zip(numbers) {
            line.push(match column {
                Column::Int(_) => Value::Int(number),
                Column::Bytes(_) => Value::Bytes(held(&mut rest, number)?.to_vec()),
                Column::Text(_) => Value::Text(std::str::from_utf8(held(&mut rest, number)?).map_err(|_| torn())?.to_owned()),
            });
        }
        all.push(Line(line));
    }
    if let Some(Column::Int(_)) = what.columns.first() {
        // SQLite keeps the order within, but does not promise to.
        all.sort_by_key(|line| line.int(0).unwrap_or(i64::MAX));
    }
    Ok(all)
}

fn torn() -> StoreFault {
    StoreFault::Damaged("rows of the book do not come apart as they were put together".to_owned())
}

/// Digits up to a space.
fn number(rest: &mut &[u8]) -> Result<i64, StoreFault> {
    let end = rest.iter().position(|byte| *byte == b' ').ok_or_else(torn)?;
    let (digits, after) = rest.split_at(end);
    *rest = &after[1..];
    std::str::from_utf8(digits).ok().and_then(|digits| digits.parse().ok()).ok_or_else(torn)
}

fn held<'a>(rest: &mut &'a [u8], length: i64) -> Result<&'a [u8], StoreFault> {
    let length = usize::try_from(length).map_err(|_| torn())?;
    let (held, after) = rest.split_at_checked(length).ok_or_else(torn)?;
    *rest = after;
    Ok(held)
}

#[cfg(test)]
mod tests {
    use super::*;
    use sqlx::Connection;
    use sqlx::sqlite::SqliteConnection;

    static ROWS: Wide = Wide::new(&[Column::Int("n"), Column::Bytes("b"), Column::Text("t")], "FROM r WHERE n >= $1 ORDER BY n LIMIT 3");

    /// Whatever the bytes are, zeros and what is no letter among them, the rows
    /// are those that come one by one.
    #[tokio::test]
    async fn rows_come_apart_as_they_were_put_together() {
        let mut file = SqliteConnection::connect(":memory:").await.unwrap();
        sqlx::raw_sql(
            "CREATE TABLE r (n INTEGER PRIMARY KEY, b BLOB NOT NULL, t TEXT NOT NULL) STRICT;
             INSERT INTO r VALUES (7, x'00ff20803a', 'é 1'), (-3, x'', ''), (2, x'3120', 'a b'), (9223372036854775807, x'00', '\u{1f9f5}');",
        )
        .execute(&mut file)
        .await
        .unwrap();
        let of = |n: i64, bytes: &[u8], text: &str| Line(vec![Value::Int(n), Value::Bytes(bytes.to_vec()), Value::Text(text.to_owned())]);
        let all = [of(-3, b"", ""), of(2, b"1 ", "a b"), of(7, b"\0\xff \x80:", "é 1"), of(i64::MAX, b"\0", "\u{1f9f5}")];
        for (from, expected) in [(-3, &all[..3]), (0, &all[1..]), (i64::MAX, &all[3..])] {
            let packed: Vec<u8> = sqlx::query_scalar(question(&ROWS)).bind(from).fetch_one(&mut file).await.unwrap();
            assert_eq!(lines(&ROWS, &packed).unwrap(), expected, "from {from}");
            let torn = &packed[..packed.len() - 1];
            assert!(lines(&ROWS, torn).is_err());
        }
        let none: Vec<u8> = sqlx::query_scalar(question(&ROWS)).bind(i64::MAX).fetch_one(&mut file).await.unwrap();
        assert_eq!(lines(&ROWS, &none).unwrap().len(), 1);
        sqlx::raw_sql("DELETE FROM r").execute(&mut file).await.unwrap();
        let none: Vec<u8> = sqlx::query_scalar(question(&ROWS)).bind(0_i64).fetch_one(&mut file).await.unwrap();
        assert_eq!(lines(&ROWS, &none).unwrap(), []);
    }
}
