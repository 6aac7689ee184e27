//! Permits: required, by value, by every prompt that could hurt someone.
//!
//! Only the interlock makes them. None can be copied, kept for later or made up: a prompt uses one up.

macro_rules! permits {
    ($($(#[$doc:meta])* $name:ident),* $(,)?) => {$(
        $(#[$doc])*
        #[derive(Debug)]
        #[must_use = "a permit is for one prompt, now"]
        pub struct $name(());

        impl $name {
            pub(super) const fn issue() -> Self {
                Self(())
            }
        }
    )*};
}

permits! {
    /// To ask for a resistance, or for hands inside: the work is proved dead.
    DeadWork,
    /// To ask for a reading of a known live source.
    SourceTest,
    /// To ask for a voltage at the work while proving it dead.
    AbsenceTest,
    /// To ask for what is left in something that keeps a charge.
    ChargeTest,
    /// To have the supply switched on, hands off.
    Energise,
    /// To ask for a reading at the live work.
    LiveWork,
    /// To have a jumper put in or taken out.
    JumperWork,
}
