//! Reading an archive: to verify it, or to make its book anew.

use super::format::{
    BLOBS, BLOBS_IN, BlobLine, ERASED, EVENTS_IN, Erasures, FORMAT, KEYS, KeysFile, MANIFEST, Manifest, Restorer, TRAIL, TrailRow, Verified,
};
use crate::StoreFault;
use crate::book::audit::Walk;
use crate::book::batch::Noted;
use crate::book::core::{Chain, Core, Writing};
use crate::book::engine::{Change, with};
use crate::book::erase::{self, Erased, ErasedList, list_name};
use crate::book::keys::CodeSlot;
use crate::book::opening::{engine_for_beginning, made_document};
use crate::book::read::stream_of;
use crate::book::seal::{self, Key, Sealed, unhex};
use crate::book::{Passphrase, Place, RecoveryCode, Stream, blob};
use flate2::read::GzDecoder;
use serde::de::DeserializeOwned;
use std::collections::{HashMap, HashSet};
use std::fs::File;
use std::io::{BufReader, Read};
use std::path::{Path, PathBuf};
use tokio::sync::mpsc;
use uuid::Uuid;

/// The most bytes of one member; a hostile archive must not fill the memory.
const MOST_BYTES: u64 = 512 * 1024 * 1024;
const AHEAD: usize = 4;

pub(super) async fn verify(file: &Path, code: &RecoveryCode) -> Result<Verified, StoreFault> {
    let mut members = Members::open(file, code);
    let front = Front::read(&mut members, code).await?;
    let mut walk = Walk::new(front.manifest.salon);
    let mut next = members.next().await?;
    while let Some(rows) = next.events(&members)? {
        front.check_rows(&mut walk, &rows).map_err(|fault| members.broken(fault))?;
        next = members.next().await?;
    }
    walk.ends_at(&front.chain).map_err(|fault| members.broken(fault))?;
    for expected in &front.blobs {
        front.check_blob(expected, &next).map_err(|why| members.fault(why))?;
        next = members.next().await?;
    }
    next.must_be_the_end(&members)?;
    Ok(front.manifest.verified(front.chain.hash))
}

pub(super) async fn restore(
    file: &Path,
    to: &Place,
    code: &RecoveryCode,
    passphrase: Option<&Passphrase>,
    erasures: &Erasures,
    by: Restorer,
) -> Result<(Core, Verified), StoreFault> {
    let mut members = Members::open(file, code);
    let front = Front::read(&mut members, code).await?;
    let later = front.later_erasures(file, erasures)?;
    let core = begin(to, &front, passphrase).await?;
    let mut change = core.engine.change().await?;
    fill_front(&core, change.as_mut(), &front).await?;
    let mut walk = Walk::new(core.salon);
    let mut next = members.next().await?;
    while let Some(rows) = next.events(&members)? {
        front.check_rows(&mut walk, &rows).map_err(|fault| members.broken(fault))?;
        change.insert_events(core.salon, rows).await?;
        next = members.next().await?;
    }
    walk.ends_at(&front.chain).map_err(|fault| members.broken(fault))?;
    for (stream, version) in walk.versions() {
        let sql = "INSERT INTO stream (salon, stream, version) VALUES ($1, $2, $3)";
        change.run(sql, with![core.salon, stream, version]).await?;
    }
    for expected in &front.blobs {
        let sealed = front.check_blob(expected, &next).map_err(|why| members.fault(why))?;
        let owner = front.owner(&expected.owner).map_err(|why| members.fault(why))?;
        let sql = "INSERT INTO blob (salon, id, owner, size, digest) VALUES ($1, $2, $3, $4, $5)";
        let values = with![core.salon, expected.id, owner.bytes(), expected.size, seal::digest(sealed)];
        change.run(sql, values).await?;
        core.engine.put_bytes(change.as_mut(), expected.id, sealed).await?;
        next = members.next().await?;
    }
    next.must_be_the_end(&members)?;
    finish(core, change, &front, &later, erasures, by).await
}

/// Makes the place; it holds no book before its key document stands.
async fn begin(to: &Place, front: &Front, passphrase: Option<&Passphrase>) -> Result<Core, StoreFault> {
    let salon = front.manifest.salon;
    if let Place::Postgres { salon: named, .. } = to
        && *named != salon
    {
        return Err(StoreFault::NoPlace {
            what: format!("the archive is of another salon than the address names ({named})"),
            cure: format!("end the address with ?salon={salon}"),
        });
    }
    let engine = engine_for_beginning(to, &front.data_key, passphrase.is_some()).await?;
    let document = made_document(salon, &front.data_key, front.slot.clone(), passphrase).await?;
    Ok(Core::new(to.clone(), salon, engine, &front.data_key, front.house.clone(), document))
}

/// Writes what comes before the events.
async fn fill_front(core: &Core, change: &mut dyn Change, front: &Front) -> Result<(), StoreFault> {
    for (owner, wrapped) in &front.wrapped {
        let sql = "INSERT INTO stream_key (salon, owner, wrapped) VALUES ($1, $2, $3)";
        change.run(sql, with![core.salon, owner.bytes(), wrapped.as_slice()]).await?;
    }
    for (number, line) in (1_u64..).zip(&front.list.lines) {
        let sql = "INSERT INTO erased (salon, number, owner, at, code) VALUES ($1, $2, $3, $4, $5)";
        change.run(sql, with![core.salon, number, line.line.stream.bytes(), line.line.at_ms, line.code]).await?;
    }
    for (number, sealed) in &front.trail {
        let sql = "INSERT INTO trail (salon, number, sealed) VALUES ($1, $2, $3)";
        change.run(sql, with![core.salon, *number, sealed.as_slice()]).await?;
    }
    Ok(())
}

/// Does later erasures again, notes the restore, keeps the head and the key document.
async fn finish(
    core: Core,
    mut change: Box<dyn Change>,
    front: &Front,
    later: &[erase::CodedLine],
    erasures: &Erasures,
    by: Restorer,
) -> Result<(Core, Verified), StoreFault> {
    let with_erasures = *erasures != Erasures::Without;
    core.note(change.as_mut(), by.at_ms, by.who, Noted::Restored { seq: front.chain.seq, with_erasures }).await?;
    let mut writing = Writing::over(&core, change.as_mut(), front.chain.clone());
    let mut leaving = Vec::new();
    let mut erased = Erased { appended: Vec::new(), keys: 0, blobs: 0, rows: 0, let_go: false };
    for line in later {
        leaving.extend(writing.destroy(line.line.stream, line.line.at_ms, &mut erased).await?);
    }
    writing.end().await?;
    core.engine.keep_key_document(change, core.document().text()?).await?;
    erase::drop_leaving(&core, leaving).await?;
    if !later.is_empty() {
        core.engine.let_go().await?;
    }
    let verified = front.manifest.verified(front.chain.hash);
    Ok((core, verified))
}

/// What stands before the events, opened and checked.
struct Front {
    manifest: Manifest,
    chain: Chain,
    slot: CodeSlot,
    data_key: Key,
    house: Key,
    list_key: Key,
    wrapped: Vec<(Stream, Vec<u8>)>,
    keys: HashMap<Stream, Key>,
    list: ErasedList,
    erased: HashSet<Stream>,
    trail: Vec<(u64, Vec<u8>)>,
    blobs: Vec<BlobLine>,
}

impl Front {
    async fn read(members: &mut Members, code: &RecoveryCode) -> Result<Self, StoreFault> {
        let manifest: Manifest = members.named(MANIFEST).await?;
        if manifest.format > FORMAT {
            return Err(StoreFault::Newer { found: i64::from(manifest.format), known: i64::from(FORMAT) });
        }
        let salon = manifest.salon;
        let file: KeysFile = members.named(KEYS).await?;
        let data_key = file.slot.open(salon, code).map_err(|fault| members.broken(fault))?;
        let wrapping = data_key.derived("wrapping");
        let (mut wrapped, mut keys) = (Vec::new(), HashMap::new());
        for line in file.keys {
            let owner: Stream = line.owner.parse().map_err(|why| members.fault(why))?;
            let bytes = unhex(&line.wrapped).ok_or_else(|| members.fault(format!("the key of {owner}")))?;
            let key = seal::unwrap(&wrapping, salon, owner, &bytes)
                .ok_or_else(|| members.fault(format!("the key of {owner} does not open under the data key")))?;
            wrapped.push((owner, bytes));
            keys.insert(owner, key);
        }
        let house = keys.get(&Stream::House).cloned().ok_or_else(|| members.fault("the house key is missing".to_owned()))?;
        let chain = manifest.chain().ok_or_else(|| members.fault("its manifest".to_owned()))?;
        let head_code = unhex(&manifest.code).unwrap_or_default();
        let chain = chain.checked(salon, &house.derived("head"), &head_code).map_err(|fault| members.broken(fault))?;
        let list_key = house.derived("erased");
        let list = ErasedList::from_text(&members.text(ERASED).await?, salon, &list_key).map_err(|why| members.fault(why))?;
        if list.count() != chain.erased || list.last_code() != chain.erased_code || wrapped.len() as u64 != manifest.keys {
            return Err(members.fault("its list of erased clients or of keys is not the manifest's".to_owned()));
        }
        let trail: Vec<TrailRow> = members.named(TRAIL).await?;
        let trail = trail.into_iter().map(|row| Some((row.number, unhex(&row.sealed)?))).collect::<Option<_>>();
        let trail = trail.ok_or_else(|| members.fault("its trail".to_owned()))?;
        let blobs: Vec<BlobLine> = members.named(BLOBS).await?;
        if blobs.len() as u64 != manifest.blobs {
            return Err(members.fault("its list of blobs is not the manifest's".to_owned()));
        }
        let erased = list.lines.iter().map(|line| line.line.stream).collect();
        Ok(Self { manifest, chain, slot: file.slot, data_key, house, list_key, wrapped, keys, list, erased, trail, blobs })
    }

    fn check_rows(&self, walk: &mut Walk, rows: &[Sealed]) -> Result<(), StoreFault> {
        rows.iter().try_for_each(|row| walk.step(row, self.keys.get(&stream_of(row)?.key_owner()), &self.erased))
    }

    fn owner(&self, text: &str) -> Result<Stream, String> {
        text.parse::<Stream>()
    }

    /// A blob's sealed bytes, when they are what the list says and open.
    fn check_blob<'m>(&self, expected: &BlobLine, member: &'m Member) -> Result<&'m [u8], String> {
        let what = || format!("blob {}", expected.id.simple());
        let Member::File { name, bytes } = member else { return Err(format!("{} is missing", what())) };
        if *name != format!("{BLOBS_IN}{}", expected.id.simple()) {
            return Err(format!("{} is missing", what()));
        }
        let owner = self.owner(&expected.owner)?;
        let key = self.keys.get(&owner).ok_or_else(|| format!("{} belongs to a stream without a key", what()))?;
        let same = bytes.len() as u64 == expected.size && unhex(&expected.sha256).is_some_and(|sum| sum == seal::digest(bytes));
        if !same || blob::open(self.manifest.salon, owner, expected.id, key, bytes).is_err() {
            return Err(format!("{} is not what was kept", what()));
        }
        Ok(bytes)
    }

    /// Erasures that the demanded list knows and the archive does not.
    fn later_erasures(&self, file: &Path, erasures: &Erasures) -> Result<Vec<erase::CodedLine>, StoreFault> {
        let path = match erasures {
            Erasures::Without => return Ok(Vec::new()),
            Erasures::File(path) => path.clone(),
            Erasures::Beside => file.parent().unwrap_or(Path::new(".")).join(list_name(self.manifest.salon)),
        };
        let text = std::fs::read_to_string(&path).map_err(|cause| match cause.kind() {
            std::io::ErrorKind::NotFound => StoreFault::ErasuresMissing(path.clone()),
            _ => StoreFault::disk(format!("reading {}", path.display()), &cause),
        })?;
        let wrong = |why: String| StoreFault::Archive { file: path.clone(), why };
        let list = ErasedList::from_text(&text, self.manifest.salon, &self.list_key).map_err(wrong)?;
        let follows = list.lines.iter().zip(&self.list.lines).all(|(there, here)| there.code == here.code);
        if !follows || list.count() < self.list.count() {
            return Err(wrong("it is older than the archive: fetch the newest one".to_owned()));
        }
        Ok(list.lines[self.list.lines.len()..].to_vec())
    }
}

/// The next member of an archive.
enum Member {
    File { name: String, bytes: Vec<u8> },
    End,
}

impl Member {
    /// The rows of a member of events; nothing for another one.
    fn events(&self, members: &Members) -> Result<Option<Vec<Sealed>>, StoreFault> {
        match self {
            Self::File { name, bytes } if name.starts_with(EVENTS_IN) => {
                unpacked(bytes).map(Some).ok_or_else(|| members.fault(format!("{name} is not rows of events")))
            }
            _ => Ok(None),
        }
    }

    fn must_be_the_end(&self, members: &Members) -> Result<(), StoreFault> {
        match self {
            Self::End => Ok(()),
            Self::File { name, .. } => Err(members.fault(format!("{name} is more than the manifest names"))),
        }
    }
}

/// Reads rows as an archive holds them.
fn unpacked(mut bytes: &[u8]) -> Option<Vec<Sealed>> {
    let mut rows = Vec::new();
    while !bytes.is_empty() {
        let mut field = || -> Option<&[u8]> {
            let (length, rest) = bytes.split_first_chunk::<8>()?;
            let (field, rest) = rest.split_at_checked(usize::try_from(u64::from_be_bytes(*length)).ok()?)?;
            bytes = rest;
            Some(field)
        };
        let number = |field: &[u8]| Some(u64::from_be_bytes(field.try_into().ok()?));
        rows.push(Sealed {
            seq: number(field()?)?,
            stream: field()?.to_vec(),
            version: number(field()?)?,
            at_ms: number(field()?)?.cast_signed(),
            actor: Uuid::from_slice(field()?).ok()?,
            sort: String::from_utf8(field()?.to_vec()).ok()?,
            format: u32::try_from(number(field()?)?).ok()?,
            body: field()?.to_vec(),
            hash: field()?.try_into().ok()?,
        });
    }
    Some(rows)
}

/// The members of an archive, opened beside the event loop and a few ahead.
struct Members {
    file: PathBuf,
    coming: mpsc::Receiver<Result<Member, StoreFault>>,
}

impl Members {
    fn open(file: &Path, code: &RecoveryCode) -> Self {
        let (sender, coming) = mpsc::channel(AHEAD);
        let (path, code) = (file.to_owned(), code.clone());
        tokio::task::spawn_blocking(move || {
            if let Err(fault) = read_members(&path, &code, &sender) {
                // Whoever read may have stopped; then nobody wants the fault.
                let _ = sender.blocking_send(Err(fault));
            }
        });
        Self { file: file.to_owned(), coming }
    }

    async fn next(&mut self) -> Result<Member, StoreFault> {
        self.coming.recv().await.unwrap_or_else(|| Err(self.fault("it ends too early".to_owned())))
    }

    async fn bytes(&mut self, wanted: &str) -> Result<Vec<u8>, StoreFault> {
        match self.next().await? {
            Member::File { name, bytes } if name == wanted => Ok(bytes),
            _ => Err(self.fault(format!("{wanted} is missing"))),
        }
    }

    async fn text(&mut self, wanted: &str) -> Result<String, StoreFault> {
        String::from_utf8(self.bytes(wanted).await?).map_err(|_| self.fault(format!("{wanted} is not text")))
    }

    async fn named<T: DeserializeOwned>(&mut self, wanted: &str) -> Result<T, StoreFault> {
        let bytes = self.bytes(wanted).await?;
        serde_json::from_slice(&bytes).map_err(|cause| self.fault(format!("{wanted}: {cause}")))
    }

    fn fault(&self, why: String) -> StoreFault {
        StoreFault::Archive { file: self.file.clone(), why }
    }

    /// A fault of what the archive holds.
    fn broken(&self, fault: StoreFault) -> StoreFault {
        match fault {
            StoreFault::Altered(first) => self.fault(first.to_string()),
            StoreFault::Damaged(why) => self.fault(why),
            other => other,
        }
    }
}

type Sender = mpsc::Sender<Result<Member, StoreFault>>;

fn read_members(path: &Path, code: &RecoveryCode, sender: &Sender) -> Result<(), StoreFault> {
    let file = File::open(path).map_err(|cause| StoreFault::disk(format!("reading {}", path.display()), &cause))?;
    let fault = |why: String| StoreFault::Archive { file: path.to_owned(), why };
    let broken = |cause: std::io::Error| fault(cause.to_string());
    let sealed = age::Decryptor::new(BufReader::new(file)).map_err(|cause| fault(format!("it is no age archive: {cause}")))?;
    let open = sealed.decrypt(std::iter::once(code.identity() as &dyn age::Identity)).map_err(|cause| match cause {
        age::DecryptError::NoMatchingKeys => StoreFault::WrongCode,
        other => fault(other.to_string()),
    })?;
    let mut archive = tar::Archive::new(GzDecoder::new(open));
    for entry in archive.entries().map_err(broken)? {
        let mut entry = entry.map_err(broken)?;
        let name = String::from_utf8(entry.path_bytes().into_owned()).map_err(|_| fault("a member's name is not text".to_owned()))?;
        if entry.size() > MOST_BYTES {
            return Err(fault(format!("{name} is too long")));
        }
        let mut bytes = Vec::new();
        entry.read_to_end(&mut bytes).map_err(broken)?;
        if sender.blocking_send(Ok(Member::File { name, bytes })).is_err() {
            return Ok(());
        }
    }
    // To the very end: a file that was cut off must not pass.
    std::io::copy(&mut archive.into_inner(), &mut std::io::sink()).map_err(broken)?;
    let _ = sender.blocking_send(Ok(Member::End));
    Ok(())
}
