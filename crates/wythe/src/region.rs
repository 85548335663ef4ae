//! The numbers that hold where a house stands.

use std::borrow::Cow;

use wythe_case::Case;
use wythe_pack::Pack;

/// The pack with the numbers of the region that a case names ([`Case::region`]); the pack itself where the case names none.
/// A region that the pack has not is a problem that weighing tells of, with its place in the file.
///
/// ```
/// let case = wythe::Case::read("block.yaml", "{format: 1, id: block, region: frost}")?;
/// let pack = wythe::built_in_pack();
/// assert!(wythe::weigh(pack, &case).is_err());
/// let pack = wythe::pack_of(pack, &case);
/// assert_eq!(pack.stands_in.as_deref(), Some("frost"));
/// assert!(wythe::weigh(&pack, &case).is_ok());
/// # Ok::<(), wythe::Error>(())
/// ```
pub fn pack_of<'p>(pack: &'p Pack, case: &Case) -> Cow<'p, Pack> {
    let other = case.region.as_ref().filter(|id| pack.stands_in.as_ref() != Some(*id));
    let there = other.and_then(|id| pack.in_region(id).ok());
    there.map_or(Cow::Borrowed(pack), Cow::Owned)
}
