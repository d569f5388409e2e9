//! Lengths of functions and what their doc comments say, from the syntax itself.

use syn::spanned::Spanned;
use syn::visit::Visit;

/// A function found in a source.
#[derive(Debug)]
pub struct Function {
    /// Its name.
    pub name: String,
    /// First line.
    pub line: usize,
    /// How many lines its body takes.
    pub lines: usize,
    /// Whether it is public to everyone.
    pub public: bool,
    /// Its doc comment.
    pub doc: String,
    /// How many arguments it takes, `self` left out.
    pub arguments: usize,
}

/// The functions of a source, those inside `#[cfg(test)]` modules left out.
pub fn functions(text: &str) -> Vec<Function> {
    let file = syn::parse_file(text).expect("the compiler takes it, so it parses");
    let mut seen = Seen { out: Vec::new() };
    seen.visit_file(&file);
    seen.out
}

struct Seen {
    out: Vec<Function>,
}

impl Seen {
    fn add(&mut self, sig: &syn::Signature, attrs: &[syn::Attribute], public: bool, body: usize) {
        let arguments = sig.inputs.iter().filter(|i| matches!(i, syn::FnArg::Typed(_))).count();
        self.out.push(Function {
            name: sig.ident.to_string(),
            line: sig.span().start().line,
            lines: body,
            public,
            doc: doc(attrs),
            arguments,
        });
    }
}

fn doc(attrs: &[syn::Attribute]) -> String {
    let mut out = String::new();
    for attr in attrs {
        if let syn::Meta::NameValue(pair) = &attr.meta
            && pair.path.is_ident("doc")
            && let syn::Expr::Lit(lit) = &pair.value
            && let syn::Lit::Str(text) = &lit.lit
        {
            out.push_str(text.value().trim());
            out.push('\n');
        }
    }
    out
}

fn is_test(attrs: &[syn::Attribute]) -> bool {
    attrs.iter().any(|a| {
        a.path().is_ident("test")
            || (a.path().is_ident("cfg")
                && a.parse_args::<syn::Path>().is_ok_and(|p| p.is_ident("test")))
    })
}

fn lines(block: &syn::Block) -> usize {
    let span = block.span();
    span.end().line.saturating_sub(span.start().line).saturating_sub(1)
}

impl<'ast> Visit<'ast> for Seen {
    fn visit_item_mod(&mut self, item: &'ast syn::ItemMod) {
        if !is_test(&item.attrs) {
            syn::visit::visit_item_mod(self, item);
        }
    }
    fn visit_item_fn(&mut self, item: &'ast syn::ItemFn) {
        if is_test(&item.attrs) {
            return;
        }
        let public = matches!(item.vis, syn::Visibility::Public(_));
        self.add(&item.sig, &item.attrs, public, lines(&item.block));
        syn::visit::visit_item_fn(self, item);
    }
    fn visit_impl_item_fn(&mut self, item: &'ast syn::ImplItemFn) {
        let public = matches!(item.vis, syn::Visibility::Public(_));
        self.add(&item.sig, &item.attrs, public, lines(&item.block));
        syn::visit::visit_impl_item_fn(self, item);
    }
}
