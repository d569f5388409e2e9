//! The speeds, each beside a peer.
