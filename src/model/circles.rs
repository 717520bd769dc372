//! Circles in who-leads-to-whom: sections that perform each other, contingencies that lead to each other.

/// For nodes `0..n` with their outgoing edges (target and a label), the edges that close a circle, each with the
/// nodes of its circle in order. Removing those edges leaves no circle. Iterative, so that long chains cannot
/// exhaust the stack.
pub fn circles<T: Copy>(edges: &[Vec<(usize, T)>]) -> Vec<(Vec<usize>, T)> {
    let mut closing = Vec::new();
    let mut done = vec![false; edges.len()];
    let mut place: Vec<Option<usize>> = vec![None; edges.len()];
    for root in 0..edges.len() {
        if done[root] {
            continue;
        }
        // The open nodes, each with how many of its edges were followed; `place` says where in the chain a node is.
        let mut chain = vec![(root, 0)];
        place[root] = Some(0);
        while let Some((node, followed)) = chain.last_mut() {
            let node = *node;
            let Some(&(to, label)) = edges[node].get(*followed) else {
                done[node] = true;
                place[node] = None;
                chain.pop();
                continue;
            };
            *followed += 1;
            if let Some(from) = place[to] {
                closing.push((chain[from..].iter().map(|(n, _)| *n).collect(), label));
            } else if !done[to] {
                place[to] = Some(chain.len());
                chain.push((to, 0));
            }
        }
    }
    closing
}

/// Nodes in an order in which every node stands before those it leads to. Nodes of circles are left out.
pub fn order<T>(edges: &[Vec<(usize, T)>]) -> Vec<usize> {
    let mut waiting = vec![0usize; edges.len()];
    for (to, _) in edges.iter().flatten() {
        waiting[*to] += 1;
    }
    let mut order: Vec<usize> = (0..edges.len()).filter(|n| waiting[*n] == 0).collect();
    let mut next = 0;
    while let Some(&node) = order.get(next) {
        next += 1;
        for (to, _) in &edges[node] {
            waiting[*to] -= 1;
            if waiting[*to] == 0 {
                order.push(*to);
            }
        }
    }
    order
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_closing_edge_is_found_once_with_its_circle() {
        let edges = vec![vec![(1, 'a')], vec![(2, 'b'), (1, 'c')], vec![(0, 'd')], vec![(2, 'e')]];
        assert_eq!(circles(&edges), vec![(vec![0, 1, 2], 'd'), (vec![1], 'c')]);
    }

    #[test]
    fn the_order_puts_callers_first_and_leaves_circles_out() {
        assert_eq!(order(&[vec![(2, ())], vec![(0, ())], vec![], vec![(3, ())]]), vec![1, 0, 2]);
    }
}
