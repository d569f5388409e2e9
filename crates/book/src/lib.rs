//! What did happen: journal, accounts, holdings.
