//! What did happen: the journal, the accounts, and what stands in each vessel.
//!
//! The journal is append-only. An [`Entry`] is a draft until its postings sum to nothing for each
//! thing that nature conserves, and only then can it be sealed and kept; a correction is a contra
//! entry and a new one. What the accounts hold and what lies in a vessel is [`derived`] from the
//! journal, and can be thrown away and made again to the same digest.
//!
//! An entry is never refused because an earlier one is missing: at three in the morning the work
//! has been done. It is accepted, marked, and asked about later ([`Book::questions`]). Refused is
//! only what cannot be true of itself.
//!
//! ```
//! use book::{Book, Moment, Noting, Role};
//! let book = Book::in_memory()?;
//! let at: Moment = "2026-03-02T06:40:00+00:00".parse()?;
//! let noted = book.note(&Noting::from_pairs(
//!     "intake",
//!     [("lot", "two_row_1"), ("barley", "two_row"), ("kg", "25000"), ("moisture_wet", "0.12")],
//! )?.id("a1").at(at).by("A. Hand", Role::Hand))?;
//! assert_eq!(noted.serial, 1);
//! # Ok::<(), book::BookFault>(())
//! ```

pub mod account;
pub mod amount;
mod body;
pub mod derived;
pub mod entry;
pub mod fault;
pub mod hash;
mod journal;
pub mod kind;
mod lots;
mod measure;
mod moment;
mod note;
mod piece;
mod run;
mod standing;
mod statement;
pub mod store;

pub use account::{Account, Commodity, Place};
pub use amount::{Amount, share_out};
pub use entry::{Balanced, Draft, Entry, Heading, Posting, Role, Unbalanced};
pub use fault::BookFault;
pub use journal::{Book, Noted, Rebuilt, Trouble, Verified};
pub use kind::{Kind, kind, kinds};
pub use moment::Moment;
pub use note::Noting;
pub use statement::{EntryView, Holding, Movement, Question, Statement};
pub use store::{Holder, Last, Sealed, Store, StoreFault};
