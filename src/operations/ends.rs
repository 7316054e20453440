//! Where matter ends up: divided, weighed, tested, kept, discarded.

use crate::diagnostics::{Code, Diagnostic};
use crate::evaluate::context::Done;
use crate::evaluate::{Context, Fact};
use crate::matter::mixture::models;

/// One portion into two.
///
/// # Errors
/// When the share is not between 0 and 1.
pub fn divide(context: &mut Context<'_>) -> Done {
    let mixture = context.one("mixture")?;
    context.settled(&mixture)?;
    let Some(share) = context.figure("share") else { return Ok(()) };
    if !(share.low > 0.0 && share.low < 1.0) {
        return Err(Box::new(
            Diagnostic::new(Code::OutOfRange, share.span, "a share lies between 0 and 100 %").help("write it with its sign: `40 %`"),
        ));
    }
    context.model(models::DIVIDING);
    let whole = mixture.portion.mass();
    let part = mixture.portion.part(share.low, &mut context.eval.ledger, context.defs, models::DIVIDING, "the share");
    let rest = mixture.portion.part(1.0 - share.low, &mut context.eval.ledger, context.defs, models::DIVIDING, "the rest");
    context.give("share", part, whole);
    context.give("rest", rest, whole);
    Ok(())
}

/// Looks at a portion's mass.
///
/// # Errors
/// When an amount is still undecided.
pub fn weigh(context: &mut Context<'_>) -> Done {
    let what = context.one("what")?;
    context.settled(&what)?;
    let mass = crate::kinds::show(what.portion.mass(), crate::kinds::Kind::Mass, 3);
    context.expect(format!("{} should weigh about {mass}.", what.name.replace('_', " ")));
    Ok(())
}

/// Looks at a portion and leaves it as it is.
///
/// # Errors
/// When an amount is still undecided.
pub fn test(context: &mut Context<'_>) -> Done {
    let what = context.one("what")?;
    context.settled(&what)
}

/// Keeps a portion.
///
/// # Errors
/// When an amount is still undecided.
pub fn store(context: &mut Context<'_>) -> Done {
    let what = context.one("what")?;
    context.settled(&what)?;
    let Some(binding) = what.binding else { return Ok(()) };
    let kept_as = context.label("name").and_then(|(_, sub, _)| sub);
    let fact = Fact::Kept { span: what.span, binding, portion: what.portion, kept_as };
    context.eval.facts.push(fact);
    Ok(())
}

/// Gives portions to a waste stream.
///
/// # Errors
/// When an amount is still undecided.
pub fn discard(context: &mut Context<'_>) -> Done {
    let all = context.take("what", 1)?;
    let Some((label, _, label_span)) = context.label("stream") else { return Ok(()) };
    for what in all {
        context.settled(&what)?;
        let fact = Fact::Discarded { span: what.span, name: what.name, portion: what.portion, label: label.clone(), label_span };
        context.eval.facts.push(fact);
    }
    Ok(())
}
