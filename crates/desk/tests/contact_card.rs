//! A client's card, read by PyPI's `vobject` where `STRANDWRIGHT_PYTHON` names an interpreter
//! that has it; and what that one writes, read here.

use desk::Contact;
use desk::contacts::{Contents, card_of, read};
use std::io::Write;
use std::process::{Command, Stdio};

/// Says each value of a card, then writes another one of version 3.0.
const READER: &str = "import sys, vobject\n\
    c = vobject.readOne(sys.stdin.buffer.read().decode('utf-8'))\n\
    print(repr([c.fn.value, [t.value for t in c.tel_list], c.email.value, c.bday.value, c.note.value]))\n\
    v = vobject.vCard()\n\
    v.add('fn').value = 'Zoë, Sample; of \\\\ ' + 'é' * 80\n\
    v.add('n').value = vobject.vcard.Name(family='Sample', given='Zoë')\n\
    t = v.add('tel'); t.value = '06 12 34 56 78'; t.type_param = 'CELL'\n\
    v.add('email').value = 'zoe@example.org'\n\
    v.add('bday').value = '1990-04-12'\n\
    v.add('note').value = 'one\\ntwo, three'\n\
    sys.stdout.write(v.serialize())\n";

#[test]
fn an_independent_reader_reads_the_card_and_its_own_card_is_read_here() {
    let contact = Contact {
        phones: vec!["+33 6 12 34 56 78".into(), "112".into()],
        emails: vec!["ada@example.org".into()],
        birthday: "1990-04-12".parse().ok(),
        note: Some(format!("evenings; not, on \\ Sundays\n{}", "é".repeat(100))),
    };
    let card = card_of("Ada; Example, É", &contact, "01972f3a-5b6c-7d8e-9f01-000000000001");
    let Some(python) = std::env::var_os("STRANDWRIGHT_PYTHON").filter(|python| std::path::Path::new(python).exists()) else {
        eprintln!("STRANDWRIGHT_PYTHON names no interpreter: read by our own reader only");
        return;
    };
    let mut child = Command::new(python)
        .args(["-c", READER])
        .env("PYTHONIOENCODING", "utf-8")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("python starts");
    child.stdin.take().expect("its input").write_all(card.as_bytes()).expect("it listens");
    let out = child.wait_with_output().expect("it ends");
    assert!(out.status.success());
    let said = String::from_utf8(out.stdout).expect("text");
    let (values, theirs) = said.split_once('\n').expect("two parts");
    let note = format!("evenings; not, on \\\\ Sundays\\n{}", "é".repeat(100));
    assert_eq!(values.trim(), format!("['Ada; Example, É', ['+33 6 12 34 56 78', '112'], 'ada@example.org', '19900412', '{note}']"));
    let (Contents::Cards(cards), None) = read(theirs.as_bytes()).expect("cards") else { panic!("no cards: {theirs}") };
    let person = cards[0].person.as_ref().expect("somebody");
    assert_eq!(person.name, format!("Zoë, Sample; of \\ {}", "é".repeat(80)));
    assert_eq!(
        (person.contact.phones.as_slice(), person.contact.emails.as_slice()),
        (&["06 12 34 56 78".to_owned()][..], &["zoe@example.org".to_owned()][..])
    );
    assert_eq!(person.contact.birthday.map(|day| day.to_string()).as_deref(), Some("1990-04-12"));
    assert_eq!(person.contact.note.as_deref(), Some("one\ntwo, three"));
}
