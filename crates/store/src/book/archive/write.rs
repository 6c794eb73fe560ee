//! Writing an archive.

use super::format::{
    BLOBS, BLOBS_IN, BlobLine, ERASED, EVENTS_IN, KEYS, KeyLine, KeysFile, MANIFEST, Manifest, TRAIL, TrailRow, Verified, json,
};
use crate::StoreFault;
use crate::book::blob::owner_of;
use crate::book::core::{Chain, Core, altered};
use crate::book::engine::{Change, Line, Value, with};
use crate::book::erase::list_name;
use crate::book::keys::recipient_of;
use crate::book::read::IN_ORDER;
use crate::book::seal::hex;
use crate::book::sqlite::{beside, write_whole};
use crate::key::sync_folder;
use flate2::Compression;
use flate2::write::GzEncoder;
use sha2::{Digest, Sha256};
use std::fs::{File, OpenOptions};
use std::io::{BufWriter, Read, Write};
use std::os::unix::fs::OpenOptionsExt;
use std::path::{Path, PathBuf};
use tokio::sync::mpsc;

/// Events of one member, at most.
const ROWS_TOGETHER: u32 = 2000;
/// About as many bytes has a row.
const BYTES_OF_A_ROW: usize = 400;
/// Members that may wait for the writer.
const AHEAD: usize = 4;

type Member = (String, Vec<u8>);

pub(super) async fn backup(core: &Core, to: &Path, now_ms: i64) -> Result<Verified, StoreFault> {
    if to.exists() {
        return Err(StoreFault::NotEmpty(to.display().to_string()));
    }
    let folder = match to.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder.to_owned(),
        _ => PathBuf::from("."),
    };
    // An erasure waits: it would delete blobs that are being read.
    let _blobs_rest = core.blobs_rest.read().await;
    let mut moment = core.engine.snapshot().await?;
    let chain = Chain::load(core, moment.as_mut()).await?;
    let list = core.erased_list(moment.as_mut(), &chain).await?.text(core.salon, &core.keys.list)?;
    let (beside_it, name, text) = (folder.clone(), list_name(core.salon), list.clone());
    beside(move || write_whole(&beside_it, &name, text.as_bytes())).await?;

    let (members, waiting) = mpsc::channel::<Member>(AHEAD);
    let (path, recipient) = (to.to_owned(), core.document().slot().recipient.clone());
    let writer = tokio::task::spawn_blocking(move || write_archive(&path, &folder, &recipient, waiting));
    let sent = send(core, moment.as_mut(), &chain, list, now_ms, &members).await;
    let whole = sent.is_ok();
    if whole {
        // The writer takes an archive for whole only when it is told so.
        let _ = members.send((String::new(), Vec::new())).await;
    }
    drop(members);
    let written = writer.await.map_err(|cause| StoreFault::Disk { what: "writing the archive".to_owned(), cause: cause.to_string() })?;
    // Why nothing more was sent says more than that the writer missed it.
    match (sent, written) {
        (Ok(verified), Ok(())) => Ok(verified),
        (Ok(_), Err(fault)) => Err(fault),
        (Err(Stopped::Fault(fault)), _) | (Err(Stopped::WriterGone), Err(fault)) => Err(fault),
        (Err(Stopped::WriterGone), Ok(())) => Err(StoreFault::Refused("the archive's writer ended early".to_owned())),
    }
}

enum Stopped {
    Fault(StoreFault),
    WriterGone,
}

impl From<StoreFault> for Stopped {
    fn from(fault: StoreFault) -> Self {
        Self::Fault(fault)
    }
}

/// Sends all members, in order.
async fn send(
    core: &Core,
    moment: &mut dyn Change,
    chain: &Chain,
    list: String,
    now_ms: i64,
    members: &mpsc::Sender<Member>,
) -> Result<Verified, Stopped> {
    let put = |name: String, bytes: Vec<u8>| async { members.send((name, bytes)).await.map_err(|_| Stopped::WriterGone) };
    let keys = keys_of(core, moment).await?;
    let blobs = blobs_of(core, moment).await?;
    let manifest = Manifest::new(core.salon, now_ms, chain, &core.keys.head, keys.keys.len() as u64, blobs.len() as u64);
    put(MANIFEST.to_owned(), json(&manifest)?).await?;
    put(KEYS.to_owned(), json(&keys)?).await?;
    put(ERASED.to_owned(), list.into_bytes()).await?;
    put(TRAIL.to_owned(), json(&trail_of(core, moment).await?)?).await?;
    put(BLOBS.to_owned(), json(&blobs)?).await?;
    let mut after = 0_u64;
    while after < chain.seq {
        let lines = moment.gather(&IN_ORDER, with![core.salon, after, ROWS_TOGETHER]).await?;
        let mut bytes = Vec::with_capacity(lines.len() * BYTES_OF_A_ROW);
        let first = after + 1;
        for line in &lines {
            pack(line, &mut bytes)?;
            after = line.count(0)?;
        }
        if after < first {
            return Err(altered(first, "it is missing").into());
        }
        put(format!("{EVENTS_IN}{first:010}.bin"), bytes).await?;
    }
    for blob in &blobs {
        let sealed = core.engine.bytes(blob.id).await?;
        let sealed = sealed.ok_or_else(|| altered(0, format!("the bytes of blob {} are missing", blob.id.simple())))?;
        put(format!("{BLOBS_IN}{}", blob.id.simple()), sealed).await?;
    }
    Ok(manifest.verified(chain.hash))
}

/// Adds a row as it stands in an archive: numbers in eight bytes, all else as it is.
fn pack(line: &Line, bytes: &mut Vec<u8>) -> Result<(), StoreFault> {
    for value in &line.0 {
        let number;
        let field: &[u8] = match value {
            Value::Int(value) => {
                number = value.to_be_bytes();
                &number
            }
            Value::Bytes(value) => value,
            Value::Text(value) => value.as_bytes(),
        };
        bytes.extend_from_slice(&(field.len() as u64).to_be_bytes());
        bytes.extend_from_slice(field);
    }
    if line.0.len() == 9 { Ok(()) } else { Err(StoreFault::Damaged("a row of events has not nine fields".to_owned())) }
}

async fn keys_of(core: &Core, moment: &mut dyn Change) -> Result<KeysFile, StoreFault> {
    let lines = moment.rows("SELECT owner, wrapped FROM stream_key WHERE salon = $1 ORDER BY owner", with![core.salon]).await?;
    let keys = lines
        .iter()
        .map(|line| Ok(KeyLine { owner: owner_of(line.bytes(0)?)?.to_string(), wrapped: hex(line.bytes(1)?) }))
        .collect::<Result<_, StoreFault>>()?;
    Ok(KeysFile { slot: core.document().slot().clone(), keys })
}

async fn blobs_of(core: &Core, moment: &mut dyn Change) -> Result<Vec<BlobLine>, StoreFault> {
    let lines = moment.rows("SELECT id, owner, size, digest FROM blob WHERE salon = $1 ORDER BY id", with![core.salon]).await?;
    let line = |line: &Line| -> Result<BlobLine, StoreFault> {
        let owner = owner_of(line.bytes(1)?)?.to_string();
        Ok(BlobLine { id: line.id(0)?, owner, size: line.count(2)?, sha256: hex(line.bytes(3)?) })
    };
    lines.iter().map(line).collect()
}

async fn trail_of(core: &Core, moment: &mut dyn Change) -> Result<Vec<TrailRow>, StoreFault> {
    let lines = moment.rows("SELECT number, sealed FROM trail WHERE salon = $1 ORDER BY number", with![core.salon]).await?;
    lines.iter().map(|line| Ok(TrailRow { number: line.count(0)?, sealed: hex(line.bytes(1)?) })).collect()
}

/// Takes members until the empty one that says all were sent; then the file
/// gets its name. Anything else leaves no file.
fn write_archive(to: &Path, folder: &Path, recipient: &str, waiting: mpsc::Receiver<Member>) -> Result<(), StoreFault> {
    let mut name = to.as_os_str().to_owned();
    name.push(".new");
    let unfinished = PathBuf::from(name);
    let outcome = write_unfinished(&unfinished, recipient, waiting);
    let failed = |cause: std::io::Error| StoreFault::disk(format!("writing {}", to.display()), &cause);
    match outcome {
        Ok(true) => {
            std::fs::rename(&unfinished, to).map_err(failed)?;
            sync_folder(folder)
        }
        Ok(false) => std::fs::remove_file(&unfinished).map_err(failed),
        Err(fault) => {
            // The first fault is the one to tell.
            let _ = std::fs::remove_file(&unfinished);
            Err(fault)
        }
    }
}

/// Whether all members came.
fn write_unfinished(path: &Path, recipient: &str, mut waiting: mpsc::Receiver<Member>) -> Result<bool, StoreFault> {
    let failed = |cause: std::io::Error| StoreFault::disk(format!("writing {}", path.display()), &cause);
    let recipient = recipient_of(recipient)?;
    let encryptor = age::Encryptor::with_recipients(std::iter::once(&recipient as &dyn age::Recipient))
        .map_err(|cause| StoreFault::Refused(cause.to_string()))?;
    let file = OpenOptions::new().write(true).create(true).truncate(true).mode(0o600).open(path).map_err(failed)?;
    let sealed = encryptor.wrap_output(Summing::new(BufWriter::new(file))).map_err(failed)?;
    // Packing and sealing go side by side.
    let (packed, packing) = std::sync::mpsc::sync_channel::<Vec<u8>>(PARTS_WAITING);
    let sealing = std::thread::spawn(move || seal_all(sealed, &packing));
    let whole = pack_all(packed, &mut waiting);
    let sealed = sealing.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)).map_err(failed)?;
    // What went wrong while sealing is why packing ended; it is told first.
    if !whole.map_err(failed)? {
        return Ok(false);
    }
    let summed = sealed.finish().map_err(failed)?;
    let (written, sum) = summed.end().map_err(failed)?;
    written.sync_all().map_err(failed)?;
    if read_back(path).map_err(failed)? != sum {
        return Err(StoreFault::Disk {
            what: format!("reading {} back", path.display()),
            cause: "it does not hold what was written: use another disk".to_owned(),
        });
    }
    Ok(true)
}

/// Parts of the archive that wait to be sealed, at most, and how long one is about.
const PARTS_WAITING: usize = 4;
const PART_BYTES: usize = 1 << 20;

/// Seals what was packed, part by part, until no more comes.
fn seal_all<W: Write>(mut sealed: W, packing: &std::sync::mpsc::Receiver<Vec<u8>>) -> std::io::Result<W> {
    for part in packing {
        sealed.write_all(&part)?;
    }
    Ok(sealed)
}

/// Hands parts on to be sealed.
struct Parts {
    to: std::sync::mpsc::SyncSender<Vec<u8>>,
    part: Vec<u8>,
}

impl Write for Parts {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        self.part.extend_from_slice(bytes);
        if self.part.len() >= PART_BYTES {
            self.flush()?;
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        let part = std::mem::replace(&mut self.part, Vec::with_capacity(PART_BYTES + PART_BYTES / 4));
        self.to.send(part).map_err(|_| std::io::Error::other("sealing ended early"))
    }
}

/// Packs the members as they come; whether all came.
fn pack_all(packed: std::sync::mpsc::SyncSender<Vec<u8>>, waiting: &mut mpsc::Receiver<Member>) -> std::io::Result<bool> {
    let parts = Parts { to: packed, part: Vec::new() };
    let mut archive = tar::Builder::new(GzEncoder::new(parts, Compression::fast()));
    let mut whole = false;
    while let Some((name, bytes)) = waiting.blocking_recv() {
        if name.is_empty() {
            whole = true;
            break;
        }
        let mut header = tar::Header::new_ustar();
        header.set_size(bytes.len() as u64);
        header.set_mode(0o600);
        header.set_mtime(0);
        archive.append_data(&mut header, &name, bytes.as_slice())?;
    }
    if whole {
        archive.into_inner().and_then(GzEncoder::finish)?.flush()?;
    }
    Ok(whole)
}

/// Passes bytes on and sums them.
struct Summing<W> {
    inner: W,
    sum: Sha256,
}

impl Summing<BufWriter<File>> {
    fn new(inner: BufWriter<File>) -> Self {
        Self { inner, sum: Sha256::new() }
    }

    fn end(self) -> std::io::Result<(File, [u8; 32])> {
        let file = self.inner.into_inner().map_err(std::io::IntoInnerError::into_error)?;
        Ok((file, self.sum.finalize().into()))
    }
}

impl<W: Write> Write for Summing<W> {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        let count = self.inner.write(bytes)?;
        self.sum.update(&bytes[..count]);
        Ok(count)
    }

    fn flush(&mut self) -> std::io::Result<()> {
        self.inner.flush()
    }
}

fn read_back(path: &Path) -> std::io::Result<[u8; 32]> {
    let mut file = File::open(path)?;
    let mut sum = Sha256::new();
    let mut bytes = vec![0_u8; 1 << 20];
    loop {
        let count = file.read(&mut bytes)?;
        if count == 0 {
            return Ok(sum.finalize().into());
        }
        sum.update(&bytes[..count]);
    }
}
