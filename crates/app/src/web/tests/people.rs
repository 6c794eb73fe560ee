//! How a client is reached, two records of one person, and people from a file, on their pages.

use super::asking::{Asking, added};
use salon::book::Purpose;

const TABLE: &str = "Given name;Family name;Mobile phone;E-mail;Date of birth;Allergies;Note\n\
    Ada;Example;06 12 34 56 78;ada@example.org;12.04.1990;nickel;her scalp itches\n\
    =1+1;Cell;;;;;\n\
    Bea;Twice;112;;04/12/1990;;\n\
    Bea;Twice;;;;;\n\
    ;;113;;;;\n";

async fn labels(asking: &Asking) -> Vec<String> {
    asking.app().salon.clients("", 99).await.unwrap().0.into_iter().map(|line| line.label).collect()
}

/// The value of a hidden field of a page.
fn hidden<'a>(page: &'a str, name: &str) -> &'a str {
    let from = page.find(&format!("name=\"{name}\" value=\"")).unwrap() + name.len() + 15;
    &page[from..from + page[from..].find('"').unwrap()]
}

fn plain(html: &str) -> String {
    html.replace("&quot;", "\"")
        .replace("&#34;", "\"")
        .replace("&#39;", "'")
        .replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&amp;", "&")
        .replace("&#38;", "&")
}

fn ticked(page: &str) -> Vec<String> {
    let boxes = page.split("name=\"take\" value=\"").skip(1);
    boxes
        .filter(|rest| rest.split('>').next().unwrap().contains("checked"))
        .map(|rest| rest.split('"').next().unwrap().to_owned())
        .collect()
}

#[tokio::test]
async fn how_she_is_reached_is_kept_given_out_and_asks_her_consent_to_be_written_to() {
    let asking = Asking::new().await;
    let page = added(&asking, &[("client.name", "Ada Example")]).await;
    let id = page.rsplit('/').next().unwrap().parse().unwrap();
    let contact = format!("{page}/contact");
    let salon = &asking.app().salon;
    let typed = |phone: &'static str, seen: String| {
        vec![
            ("phone", phone.to_owned()),
            ("phone", String::new()),
            ("email", "ada@example.org".to_owned()),
            ("birthday", "--04-12".to_owned()),
            ("note", "evenings".to_owned()),
            ("agrees", "yes".to_owned()),
            ("seen", seen),
            ("all_here", "yes".to_owned()),
        ]
    };
    let send = async |pairs: &[(&str, String)]| {
        let pairs: Vec<(&str, &str)> = pairs.iter().map(|(name, value)| (*name, value.as_str())).collect();
        asking.post(&contact, &pairs).await
    };
    let seen = hidden(&asking.get(&contact).await.1, "seen").to_owned();
    let (status, says) = send(&typed("call me", seen.clone())).await;
    assert!(status == 422 && says.contains("is no telephone number") && says.contains("value=\"call me\""), "{status} {says}");
    assert_eq!(send(&typed("+33 6 12 34 56 78", seen.clone())).await.0, 303);
    let book = salon.book_of(id).await.unwrap();
    assert_eq!(
        serde_json::to_value(&book.contact).unwrap(),
        serde_json::json!({"phones": ["+33 6 12 34 56 78"], "emails": ["ada@example.org"], "birthday": "--04-12", "note": "evenings"})
    );
    assert!(book.consents.contains_key(&Purpose::Contact));
    // From a page that was opened before, nothing is saved over it, and what was typed stands there.
    let (status, says) = send(&typed("114", seen)).await;
    assert!(status == 422 && says.contains("value=\"114\"") && salon.book_of(id).await.unwrap().contact == book.contact, "{status}");
    // Half a page changes nothing.
    assert_eq!(asking.post(&contact, &[("phone", "115")]).await.0, 422);
    let (status, card) = asking.get(&format!("{contact}.vcf")).await;
    assert!(
        status == 200
            && card.contains("FN:Ada Example\r\n")
            && card.contains("TEL:+33 6 12 34 56 78\r\n")
            && card.contains("BDAY:--0412\r\n"),
        "{card}"
    );
    let seen = hidden(&asking.get(&contact).await.1, "seen").to_owned();
    assert_eq!(asking.post(&contact, &[("agrees", "no"), ("seen", &seen), ("all_here", "yes")]).await.0, 303);
    let book = salon.book_of(id).await.unwrap();
    assert!(book.contact.is_empty() && !book.consents.contains_key(&Purpose::Contact));
}

#[tokio::test]
async fn of_two_records_the_one_that_is_set_aside_leads_to_the_other_and_back() {
    let asking = Asking::new().await;
    let old = added(&asking, &[("client.name", "Ada Maiden")]).await;
    let new = added(&asking, &[("client.name", "Ada Married")]).await;
    let id = |page: &str| page.rsplit('/').next().unwrap().to_owned();
    let (old_id, new_id) = (id(&old), id(&new));
    let merge = format!("{old}/merge");
    let (_, looked) = asking.post(&merge, &[("then", "look"), ("search", "married")]).await;
    assert!(looked.contains(&new_id) && !looked.contains(&format!("value=\"{old_id}\"")), "{looked}");
    for pairs in [&[("then", "merge")][..], &[("other", new_id.as_str())], &[("other", new_id.as_str()), ("keep", "other")]] {
        let (status, says) = asking.post(&merge, pairs).await;
        assert!(status == 422 && says.contains("Nothing was changed"), "{says}");
    }
    let said = [("then", "merge"), ("other", new_id.as_str()), ("keep", "other"), ("reason", "she married")];
    let done = asking.send(&merge, &said).await;
    assert_eq!((done.status.as_u16(), done.header("location")), (303, format!("{new}/visits").as_str()));
    assert_eq!(labels(&asking).await, ["Ada Married"]);
    let (status, page) = asking.get(&old).await;
    assert!(status == 200 && page.contains("This record is set aside") && page.contains(&format!("href=\"{new}\"")), "{page}");
    assert!(asking.get(&format!("{new}/visits")).await.1.contains("Ada Maiden"), "her history is that of both");
    assert!(!asking.get(&format!("{old}/visits")).await.1.contains("Begin a visit"));
    // Her form on a tablet that had it open is not saved there.
    let (status, says) = asking.post(&old, &[("client.name", "Ada"), ("seen", "1"), ("all_here", "yes"), ("consent.health", "true")]).await;
    assert!(status == 422 && says.contains(&new_id), "{status} {says}");

    // Erasing asks which of them go, and says what stays.
    let erase = format!("{new}/erase");
    assert!(asking.get(&erase).await.1.contains("name=\"records\""));
    let (status, says) = asking.post(&erase, &[("reason", "she asked"), ("sure", "yes")]).await;
    assert!(status == 422 && says.contains("which of her records"), "{says}");

    assert_eq!(asking.post(&format!("{old}/part"), &[("reason", "")]).await.0, 422);
    assert_eq!(asking.post(&format!("{old}/part"), &[("reason", "her sister")]).await.0, 303);
    assert_eq!(labels(&asking).await, ["Ada Maiden", "Ada Married"]);
    assert!(asking.get(&old).await.1.contains("She has another record"));
}

#[tokio::test]
async fn a_table_is_looked_at_before_anybody_is_added_and_added_once() {
    let asking = Asking::new().await;
    let (status, page) = asking.send_file("/clients/import", &[], TABLE).await;
    let page = plain(&page);
    assert_eq!((status, labels(&asking).await.len()), (200, 0), "nothing is written");
    for said in
        ["Ada Example", "=1+1 Cell", "looks like line 4 of this file", "no name stands in this line", "which is the day", "born 1990-04-12"]
    {
        assert!(page.contains(said), "{said}: {page}");
    }
    assert_eq!(ticked(&page), ["0", "1", "2"]);
    let from = page.find("name=\"read\" value=\"").unwrap() + 19;
    let read = page[from..from + page[from..].find("\">\n").unwrap()].to_owned();
    // Read otherwise, by hand: the day stands first, and nothing is a note.
    let (_, again) = asking.send_file("/clients/import", &[("read", &read), ("slashes", "day")], "").await;
    assert!(again.contains("born 1990-12-04"), "{again}");
    let columns = ["family", "given", "nothing", "nothing", "nothing", "nothing", "nothing"].map(|word| ("column", word));
    let by_hand = [&columns[..], &[("read", read.as_str())]].concat();
    assert!(asking.send_file("/clients/import", &by_hand, "").await.1.contains("Example Ada"));

    let chosen = [("read", read.as_str()), ("take", "0"), ("take", "1"), ("take", "99"), ("slashes", "day")];
    for _ in 0..2 {
        let (status, says) = asking.send_file("/clients/import/keep", &chosen, "").await;
        assert_eq!(status, 303, "{says}");
        assert_eq!(labels(&asking).await, ["=1+1 Cell", "Ada Example"]);
    }
    let salon = &asking.app().salon;
    let ada = salon.clients("ada", 1).await.unwrap().0.remove(0).id;
    let (client, book) = (salon.client(ada).await.unwrap(), salon.book_of(ada).await.unwrap());
    assert_eq!(client.facts, r#"{"client":{"name":"Ada Example"}}"#, "no allergy comes in");
    assert!(book.contact.note.is_none() && book.consents.is_empty(), "no note that was not asked for, and no consent");
    // The same file once more: who is there is not ticked.
    let (_, page) = asking.send_file("/clients/import", &[], TABLE).await;
    assert_eq!(ticked(&page), ["2"]);
    let with_notes = [("read", read.as_str()), ("take", "2"), ("notes", "yes")];
    assert_eq!(asking.send_file("/clients/import/keep", &with_notes, "").await.0, 303);
    assert_eq!(labels(&asking).await.len(), 3);
}

#[tokio::test]
async fn contacts_come_in_as_a_telephone_gives_them_and_what_is_no_file_of_them_is_said() {
    let asking = Asking::new().await;
    let cards = "BEGIN:VCARD\r\nVERSION:3.0\r\nFN:Zoë Sample\r\nTEL:112\r\nPHOTO;ENCODING=b:AAAA\r\n AAAA\r\nEND:VCARD\r\nBEGIN:VCARD\r\nTEL:1\r\nEND:VCARD\r\n";
    let (status, page) = asking.send_file("/clients/import", &[], cards).await;
    assert!(status == 200 && page.contains("Zoë Sample") && page.contains("the card holds no name") && !page.contains("AAAA"), "{page}");
    for file in ["", "name\n", "\u{0}\u{1}", &format!("name\n{}", "Ada\n".repeat(1001))] {
        let (status, says) = asking.send_file("/clients/import", &[], file).await;
        assert!(status == 422 && says.contains("The file was not read"), "{status} {says}");
    }
    let (status, says) = asking.send_file("/clients/import/keep", &[("read", "{")], "").await;
    assert!(status == 422 && says.contains("did not arrive whole"), "{says}");
    let huge = "x".repeat(17 * 1024 * 1024);
    let (status, says) = asking.send_file("/clients/import", &[], &huge).await;
    assert!(status == 413 && says.contains("larger than can be taken in"), "{status}");
    assert_eq!(labels(&asking).await.len(), 0);
}
