package dev.scanloom.internal.lower;

import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.check.Call;
import dev.scanloom.internal.check.Code;
import dev.scanloom.internal.check.Expr;
import dev.scanloom.internal.check.Place;
import dev.scanloom.internal.check.Pou;
import dev.scanloom.internal.check.Type;
import dev.scanloom.internal.check.Variable;
import dev.scanloom.internal.step.Op;
import dev.scanloom.model.ElementaryType;
import java.util.ArrayList;
import java.util.List;
import java.util.Optional;

/** Calls of functions, methods and FB instances: arguments, results, outputs, EN and ENO. */
abstract class CallLowering extends ExpressionLowering {
  CallLowering(Lowering lowering, int number, Pou pou) {
    super(lowering, number, pou);
  }

  @Override
  void callForResult(Call call, Type type) {
    call(call, Optional.of(type), null, type, null);
  }

  /** Assigns a value of any type to a place. */
  void assign(Place target, Expr value, Span span) {
    Type type = target.type();
    if (value instanceof Expr.Invoke i && (i.call().en().isPresent() || i.call().eno().isPresent())) {
      Label done = new Label();
      call(i.call(), Optional.of(i.type()), done, target.type(), target);
      set(done);
      return;
    }
    if (Layout.isScalar(type)) {
      store(target, new Runnable() {
        // a class, not a lambda: the first load of a program needs it, and lambdas take long to make
        @Override
        public void run() {
          expression(value);
        }
      }, span);
    } else {
      address(where(target), target.span());
      expression(value);
      copy(type, value.type(), span);
    }
  }


  /** A call as a statement. */
  void callStatement(Call call) {
    Label done = new Label();
    call(call, Optional.empty(), done, null, null);
    set(done);
  }

  /**
   * Lowers a call. With a result type the result is pushed, or stored in {@code target} when one is given; EN FALSE or an error under ENO then leaves the
   * target as it is (or pushes 0).
   *
   * @param skip where to go on without result; null: push 0 and go on behind
   */
  void call(Call call, Optional<Type> result, Label skip, Type targetType, Place target) {
    Span span = call.span();
    int height = depth();
    Label off = new Label();
    Label failed = new Label();
    Label behind = new Label();
    if (call.en().isPresent()) {
      expression(call.en().get());
      jump(Op.JUMP_FALSE, off, behind, span);
    }
    boolean guarded = call.eno().isPresent();
    if (guarded) {
      guard(failed, span);
    }
    invoke(call, result);
    if (guarded) {
      emit(Op.UNGUARD, 0, 0, span);
      setEno(call, true);
    }
    if (target != null) {
      int resultHeight = depth();
      storeResult(target, targetType, result.orElseThrow(), span);
      assert resultHeight - 1 == depth();
    }
    if (call.en().isPresent() || guarded) {
      int after = depth();
      jump(Op.JUMP, behind, null, span);
      depth(height);
      set(failed);
      set(off);
      if (call.eno().isPresent()) {
        constant(0, span);
        negateIf(call.eno().get().negated(), span);
        storeValue(call.eno().get().target(), span);
      }
      if (target == null && result.isPresent()) {
        pushDefault(result.get(), span);
      }
      depth(after);
    }
    set(behind);
  }

  private void pushDefault(Type type, Span span) {
    if (Layout.isScalar(type)) {
      constant(0, span);
    } else {
      int t = temp(layout.slots(type));
      emit(Op.ADDRESS_FRAME, t, 0, span);
    }
  }

  private void storeResult(Place target, Type targetType, Type resultType, Span span) {
    if (Layout.isScalar(targetType)) {
      storeValue(target, span);
    } else {
      int t = temp(1);
      emit(Op.STORE_TEMP, t, 0, span);
      address(where(target), span);
      emit(Op.LOAD_TEMP, t, 0, span);
      copy(targetType, resultType, span);
    }
  }

  private void negateIf(boolean negated, Span span) {
    if (negated) {
      emit(Op.NOT, 0, k(ElementaryType.BOOL), span);
    }
  }

  /** Sets the target of ENO after a call that went well: to the callee's own ENO when it has one. */
  private void setEno(Call call, boolean value) {
    Call.Output eno = call.eno().orElseThrow();
    pushEno(call, eno.parameter(), call.span());
    negateIf(eno.negated(), call.span());
    storeValue(eno.target(), call.span());
  }

  /** Pushes ENO after a call that went well. */
  void pushEno(Call call, Variable own, Span span) {
    if (own != null && call.target() instanceof Call.Function f && f.pou().variables().contains(own)) {
      beyond(emit(Op.LOAD_FRAME, layout.storage(own).offset(), k(ElementaryType.BOOL), span));
    } else if (own != null && call.target() instanceof Call.Instance i && i.pou().variable(own.name()).isPresent()) {
      load(where(new Place.Member(span, i.place(), own)), k(ElementaryType.BOOL), span);
    } else {
      constant(1, span);
    }
  }

  /** Arguments, call, outputs; leaves the result on the stack when there is one. */
  void invoke(Call call, Optional<Type> result) {
    if (call.target() instanceof Call.Function f) {
      if (f.pou().code() instanceof Code.Intrinsic intrinsic) {
        intrinsicCall(call, f.pou(), intrinsic.name(), result);
        return;
      }
      layout.frame(f.pou());
      boolean bound = f.pou().code() instanceof Code.Native;
      int count = pushArguments(call.arguments(), bound);
      storeArguments(call.arguments(), count, bound);
      if (bound) {
        prepareNative(f.pou(), result, call.span());
        lowering.callsNative(number, f.pou());
        int at = emit(Op.NATIVE, lowering.nativeOf(f.pou()), 0, call.span());
        beyondFrame(at);
      } else {
        int body = lowering.bodyOf(f.pou());
        lowering.calls(number, body);
        beyondFrame(emit(Op.CALL, body, 0, call.span()));
      }
      pushResult(f.pou(), result, bound, call.span());
      outputsOfFrame(call, call.span());
    } else if (call.target() instanceof Call.Method m) {
      layout.frame(m.method());
      int count = pushArguments(call.arguments(), false);
      storeArguments(call.arguments(), count, false);
      receiver(m.receiver(), m.method().span(), call.span());
      if (m.dynamic()) {
        beyondFrame(emit(Op.CALL_DYNAMIC, lowering.selector(number, Lowering.methodSelector(m.method())), 0, call.span()));
      } else {
        int body = lowering.bodyOf(m.method());
        lowering.calls(number, body);
        beyondFrame(emit(Op.CALL_ON, body, 0, call.span()));
      }
      pushResult(m.method(), result, false, call.span());
      outputsOfFrame(call, call.span());
    } else if (call.target() instanceof Call.Instance i) {
      instanceCall(call, i);
    } else {
      throw new IllegalStateException("call of " + call.target());
    }
  }

  /** Calls a further body on the same instance. */
  void callOwn(int body, Span span) {
    lowering.calls(number, body);
    beyondFrame(emit(Op.CALL, body, 0, span));
  }

  private void receiver(Place place, Span declared, Span span) {
    if (place instanceof Place.Deref d) {
      expression(d.reference());
    } else {
      address(where(place), span);
    }
  }

  /** Evaluates inputs and in-outs in textual order onto the stack. Returns how many values were pushed. */
  private int pushArguments(List<Call.Argument> arguments, boolean bound) {
    int count = 0;
    for (Call.Argument a : arguments) {
      if (a instanceof Call.Input in) {
        if (Layout.isOpenArray(in.parameter().type())) {
          count += pushOpen(in.parameter(), ((Expr.Read) in.value()).place());
        } else {
          expression(in.value());
          count++;
        }
      } else if (a instanceof Call.InOut io) {
        if (Layout.isOpenArray(io.parameter().type())) {
          count += pushOpen(io.parameter(), io.place());
        } else {
          address(where(io.place()), io.place().span());
          count++;
        }
      }
    }
    return count;
  }

  /** Address and bounds of an actual array for an open parameter. */
  private int pushOpen(Variable parameter, Place actual) {
    Type.Array a = (Type.Array) actual.type().base();
    address(where(actual), actual.span());
    if (a.open()) {
      Layout.Storage s = descriptor(actual);
      for (int i = 0; i < 2 * a.bounds().size(); i++) {
        emit(s.area() == Layout.Area.FRAME ? Op.LOAD_FRAME : Op.LOAD_SELF, s.offset() + 1 + i, k(ElementaryType.DINT), actual.span());
      }
    } else {
      for (Type.Bounds b : a.bounds()) {
        constant(b.low(), actual.span());
        constant(b.high(), actual.span());
      }
    }
    return 1 + 2 * a.bounds().size();
  }

  /** Moves the pushed arguments into the callee's frame, last first. */
  private void storeArguments(List<Call.Argument> arguments, int count, boolean bound) {
    for (int i = arguments.size() - 1; i >= 0; i--) {
      Call.Argument a = arguments.get(i);
      if (a instanceof Call.Output) {
        continue;
      }
      Variable p = a.parameter();
      Layout.Storage s = layout.storage(p);
      Span span = a instanceof Call.Input in ? in.value().span() : ((Call.InOut) a).place().span();
      if (s.indirect()) {
        for (int n = Layout.indirectSlots(p.type()) - 1; n >= 0; n--) {
          beyond(emit(Op.STORE_FRAME, s.offset() + n, k(ElementaryType.ULINT), span));
        }
      } else if (Layout.isScalar(p.type())) {
        beyond(emit(Op.STORE_FRAME, s.offset(), kindOf(p.type()), span));
      } else {
        beyond(emit(Op.ADDRESS_FRAME, s.offset(), 0, span));
        emit(Op.SWAP, 0, 0, span);
        copy(p.type(), a instanceof Call.Input in ? in.value().type() : p.type(), span);
      }
    }
  }

  /** Gives a Java body room for the strings it returns. */
  private void prepareNative(Pou target, Optional<Type> result, Span span) {
    for (Variable v : target.variables()) {
      boolean returned = v.section() == Variable.Section.RESULT || v.section() == Variable.Section.OUTPUT;
      if (returned && !Layout.isScalar(v.type())) {
        int t = temp(layout.slots(v.type()));
        emit(Op.CLEAR, t, 1, span);
        emit(Op.ADDRESS_FRAME, t, 0, span);
        beyond(emit(Op.STORE_FRAME, layout.storage(v).offset(), k(ElementaryType.ULINT), span));
      } else if (returned) {
        constant(0, span);
        beyond(emit(Op.STORE_FRAME, layout.storage(v).offset(), kindOf(v.type()), span));
      }
    }
  }

  private void pushResult(Pou target, Optional<Type> result, boolean bound, Span span) {
    if (result.isEmpty()) {
      return;
    }
    Variable v = target.variables().stream().filter(x -> x.section() == Variable.Section.RESULT).findFirst()
        .orElseThrow(() -> new IllegalStateException(target.name() + " has no result"));
    Layout.Storage s = layout.storage(v);
    if (Layout.isScalar(v.type())) {
      beyond(emit(Op.LOAD_FRAME, s.offset(), kindOf(v.type()), span));
    } else if (bound) {
      beyond(emit(Op.LOAD_FRAME, s.offset(), k(ElementaryType.ULINT), span));
    } else {
      int t = temp(layout.slots(v.type()));
      emit(Op.ADDRESS_FRAME, t, 0, span);
      beyond(emit(Op.ADDRESS_FRAME, s.offset(), 0, span));
      copy(v.type(), v.type(), span);
      emit(Op.ADDRESS_FRAME, t, 0, span);
    }
  }

  /** Copies outputs of a function or method to their targets: all values are taken before any target is computed. */
  private void outputsOfFrame(Call call, Span span) {
    List<Call.Output> scalars = new ArrayList<>();
    List<Integer> temps = new ArrayList<>();
    for (Call.Argument a : call.arguments()) {
      if (a instanceof Call.Output o && Layout.isScalar(o.parameter().type())) {
        beyond(emit(Op.LOAD_FRAME, layout.storage(o.parameter()).offset(), kindOf(o.parameter().type()), span));
        negateIf(o.negated(), span);
        convertTop(Layout.kind(o.parameter().type()), Layout.kind(o.target().type()), false, span);
        int t = temp(1);
        emit(Op.STORE_TEMP, t, 0, span);
        scalars.add(o);
        temps.add(t);
      }
    }
    for (int i = 0; i < scalars.size(); i++) {
      int t = temps.get(i);
      store(scalars.get(i).target(), () -> emit(Op.LOAD_TEMP, t, 0, span), scalars.get(i).target().span());
    }
    for (Call.Argument a : call.arguments()) {
      if (a instanceof Call.Output o && !Layout.isScalar(o.parameter().type())) {
        Layout.Storage s = layout.storage(o.parameter());
        address(where(o.target()), o.target().span());
        beyond(emit(s.indirect() ? Op.LOAD_FRAME : Op.ADDRESS_FRAME, s.offset(), s.indirect() ? k(ElementaryType.ULINT) : 0, span));
        copy(o.target().type(), o.parameter().type(), span);
      }
    }
  }


  private void instanceCall(Call call, Call.Instance target) {
    Span span = call.span();
    layout.instance(target.pou());
    Where where = instanceWhere(target.place(), span);
    for (Call.Argument a : call.arguments()) {
      if (a instanceof Call.Input in) {
        storeInput(where, in, span);
      } else if (a instanceof Call.InOut io) {
        storeInOut(where, io);
      }
    }
    address(part(where, 0, span), span);
    if (target.dynamic()) {
      beyondFrame(emit(Op.CALL_DYNAMIC, lowering.selector(number, Lowering.bodySelector()), 0, span));
    } else {
      int body = lowering.bodyOf(target.pou());
      lowering.calls(number, body);
      beyondFrame(emit(Op.CALL_ON, body, 0, span));
    }
    for (Call.Argument a : call.arguments()) {
      if (a instanceof Call.Output o) {
        output(where, o, span);
      }
    }
  }

  /** Where an instance lies; an address that needs code is computed once and kept. */
  private Where instanceWhere(Place place, Span span) {
    Where w = where(place);
    if (w.mode() != Where.Mode.STACK) {
      return w;
    }
    address(w, span);
    int t = temp(1);
    emit(Op.STORE_TEMP, t, 0, span);
    return new Where(Where.Mode.STACK, 0, 0, -t - 1);
  }

  /** Pushes the kept address of an instance, when there is one, so that {@code w} can be used as a place. */
  private Where part(Where w, int offset, Span span) {
    if (w.mode() == Where.Mode.STACK && w.partWidth() < 0) {
      emit(Op.LOAD_TEMP, -w.partWidth() - 1, 0, span);
      return Where.of(Where.Mode.STACK, offset);
    }
    return w.plus(offset);
  }

  void storeInput(Where instance, Call.Input in, Span span) {
    Variable p = in.parameter();
    Span at = in.value().span();
    Layout.Storage s = layout.storage(p);
    if (Layout.isScalar(p.type())) {
      int offset = s.offset() + (p.edge() == Variable.Edge.NONE ? 0 : 1);
      storeAt(instance, offset, p.type(), () -> expression(in.value()), at);
    } else if (s.indirect()) {
      storeOpen(instance, s, p, ((Expr.Read) in.value()).place());
    } else {
      address(part(instance, s.offset(), at), at);
      expression(in.value());
      copy(p.type(), in.value().type(), at);
    }
  }

  private void storeAt(Where instance, int offset, Type type, Runnable value, Span span) {
    if (instance.mode() == Where.Mode.STACK) {
      address(part(instance, offset, span), span);
      value.run();
      emit(Op.STORE_INDIRECT, 0, kindOf(type), span);
    } else {
      value.run();
      storeTop(instance.plus(offset), kindOf(type), span);
    }
  }

  void storeInOut(Where instance, Call.InOut io) {
    Layout.Storage s = layout.storage(io.parameter());
    if (Layout.isOpenArray(io.parameter().type())) {
      storeOpen(instance, s, io.parameter(), io.place());
    } else {
      storeAt(instance, s.offset(), new Type.Elementary(ElementaryType.ULINT), () -> address(where(io.place()), io.place().span()),
          io.place().span());
    }
  }

  private void storeOpen(Where instance, Layout.Storage s, Variable parameter, Place actual) {
    int n = pushOpen(parameter, actual);
    int t = temp(n);
    for (int i = n - 1; i >= 0; i--) {
      emit(Op.STORE_TEMP, t + i, 0, actual.span());
    }
    for (int i = 0; i < n; i++) {
      int at = t + i;
      storeAt(instance, s.offset() + i, new Type.Elementary(ElementaryType.ULINT), () -> emit(Op.LOAD_TEMP, at, 0, actual.span()), actual.span());
    }
  }

  void output(Where instance, Call.Output o, Span span) {
    Variable p = o.parameter();
    Layout.Storage s = layout.storage(p);
    if (Layout.isScalar(p.type())) {
      store(o.target(), () -> {
        loadMember(instance, p, span);
        negateIf(o.negated(), span);
        convertTop(Layout.kind(p.type()), Layout.kind(o.target().type()), false, span);
      }, span);
    } else {
      address(where(o.target()), o.target().span());
      address(part(instance, s.offset(), span), span);
      copy(o.target().type(), p.type(), span);
    }
  }

  /** Pushes a scalar member of an instance. */
  private void loadMember(Where instance, Variable p, Span span) {
    if (p.located().isPresent() && !Layout.isStarred(p)) {
      load(Where.of(Where.Mode.LOCATED, lowering.located(p.located().get(), p.type())), kindOf(p.type()), span);
      return;
    }
    Layout.Storage s = layout.storage(p);
    if (s.indirect()) {
      load(part(instance, s.offset(), span), k(ElementaryType.ULINT), span);
      emit(Op.LOAD_INDIRECT, 0, kindOf(p.type()), span);
    } else {
      load(part(instance, s.offset(), span), kindOf(p.type()), span);
    }
  }

  /** Pushes an output parameter after a call made by a box: a scalar value, or an address. */
  void pushOutput(Call call, Variable parameter, Span span) {
    if (call.target() instanceof Call.Instance i) {
      Place member = new Place.Member(span, i.place(), parameter);
      readPlace(member, span);
      return;
    }
    Layout.Storage s = layout.storage(parameter);
    if (s.indirect() && parameter.section() == Variable.Section.IN_OUT) {
      beyond(emit(Op.LOAD_FRAME, s.offset(), k(ElementaryType.ULINT), span));
      if (Layout.isScalar(parameter.type())) {
        emit(Op.LOAD_INDIRECT, 0, kindOf(parameter.type()), span);
      }
    } else if (Layout.isScalar(parameter.type())) {
      beyond(emit(Op.LOAD_FRAME, s.offset(), kindOf(parameter.type()), span));
    } else {
      beyond(emit(s.indirect() ? Op.LOAD_FRAME : Op.ADDRESS_FRAME, s.offset(), s.indirect() ? k(ElementaryType.ULINT) : 0, span));
    }
  }

  /** A function of the core called with EN or ENO. */
  private void intrinsicCall(Call call, Pou target, String name, Optional<Type> result) {
    List<Expr> arguments = new ArrayList<>();
    for (Call.Argument a : call.arguments()) {
      if (a instanceof Call.Input in) {
        arguments.add(in.value());
      }
    }
    new Intrinsics(this).push(name, target.result(), arguments, call.span());
    if (result.isEmpty() && !(target.result().base() instanceof Type.Nothing)) {
      emit(Op.POP, 0, 0, call.span());
    }
  }
}
